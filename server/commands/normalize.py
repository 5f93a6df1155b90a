"""`skidbook normalize`: every reading with every intermediate, as a table."""

from pathlib import Path

import pandas as pd

from analytics.condition.normalized import NormalizedLog, normalize_log
from analytics.quantities import COLUMNS
from server.commands.files import STANDARD_OUTPUT, file_notes, read_table, whole_file
from server.intake.table import ReadingsTable
from server.plants.plant_file import read_plant
from server.security.spreadsheets import plain_cells

DIGITS = "%.8g"


def run_normalize(plant_path: Path, readings_path: Path, *, out: Path, mapping: Path | None) -> None:
    """Read, normalize, and write; see `skidbook normalize --help`."""
    plant = read_plant(plant_path)
    table = read_table(plant, readings_path, mapping)
    log = normalize_log(plant, table.frame)
    with whole_file(out) as stream:
        normalized_table(table, log).to_csv(stream, index=False, float_format=DIGITS, lineterminator="\n")
    if str(out) != STANDARD_OUTPUT:
        used, count = int(log.used.sum()), len(log.reason)
        print(f"{out}: {count} reading{'' if count == 1 else 's'}, {used} used, {count - used} set aside")
        for note in file_notes(table):
            print(f"  {note}")


def normalized_table(table: ReadingsTable, log: NormalizedLog) -> pd.DataFrame:
    """One row per reading, in order of time: row of the file, time, reason ("" = used), what was read (headers as in a
    readings file), then every intermediate and indicator (`<scope>_<what>`)."""
    frame = table.frame
    read = {f"{COLUMNS[name].name} [{COLUMNS[name].unit}]": frame[name] for name in frame.columns if name in COLUMNS}
    words = {name: frame[name] for name in ("state", "remark") if name in frame.columns}
    words = {name: plain_cells(column) for name, column in words.items()}
    columns = {"reason": log.reason, **read, **words, **log.columns}
    result = pd.DataFrame(columns, index=frame.index)
    result.insert(0, "row", table.row_numbers)
    local = pd.DatetimeIndex(frame.index).tz_convert(log.plant.site.timezone)
    result.insert(1, "time", local.map(lambda moment: moment.isoformat(timespec="seconds")))
    return result
