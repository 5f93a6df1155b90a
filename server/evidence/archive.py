"""The evidence file of a train: one ZIP with a page to read first, all tables, and a manifest of checksums."""

import hashlib
import io
import zipfile
from collections.abc import Iterable, Iterator
from datetime import datetime
from tempfile import SpooledTemporaryFile
from typing import IO
from zoneinfo import ZoneInfo

import orjson
import pandas as pd
from sqlalchemy.orm import Session

import analytics
from analytics.judgement.limits_kept import LimitKept, limits_kept
from analytics.plant_file import plant_from_dict
from server.assessments.queries import daily_frame, latest_assessment
from server.cleanings.models import CleaningPhoto, CleaningRevision
from server.evidence.photos import photos_of_train
from server.evidence.tables import (
    elements_of_train,
    revisions_of_train,
    rows_of_cleanings,
    rows_of_train,
    tables_of_train,
    weights_of_train,
)
from server.plants.models import Train
from server.plants.queries import plant_document
from server.security.spreadsheets import plain_cells

MOST_IN_MEMORY = 20 * 1024**2
MANIFEST, FIRST = "manifest.json", "READ ME FIRST.txt"


def write_evidence(session: Session, train: Train, made_at: datetime) -> IO[bytes]:
    """Write the file of a train; it is on disk where it is large, and gone when it is closed."""
    file = SpooledTemporaryFile(max_size=MOST_IN_MEMORY)  # noqa: SIM115 - the answer closes it
    sums: dict[str, dict[str, str | int]] = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, pieces in _parts(session, train, made_at):
            sums[name] = _add(archive, name, pieces, made_at)
        manifest = {"format": "skidbook-evidence-1", "made_at": made_at.isoformat(), "version": analytics.__version__}
        _add(archive, MANIFEST, [orjson.dumps(manifest | {"files": sums}, option=orjson.OPT_INDENT_2)], made_at)
    file.seek(0)
    return file


def _add(archive: zipfile.ZipFile, name: str, pieces: Iterable[bytes], made_at: datetime) -> dict[str, str | int]:
    """Add one file piece by piece; returns its size and SHA-256."""
    digest, size = hashlib.sha256(), 0
    info = zipfile.ZipInfo(name, date_time=made_at.timetuple()[:6])
    info.compress_type = zipfile.ZIP_DEFLATED
    with archive.open(info, "w") as target:
        for piece in pieces:
            target.write(piece)
            digest.update(piece)
            size += len(piece)
    return {"sha256": digest.hexdigest(), "bytes": size}


def _parts(session: Session, train: Train, made_at: datetime) -> Iterator[tuple[str, Iterable[bytes]]]:
    """Every file of the archive by name, the one to read first in front."""
    document = plant_document(session, train.id)
    kept = _limits(session, train.id, document)
    yield FIRST, [_first_page(train, kept, made_at).encode()]
    yield "plant.json", [orjson.dumps(document, option=orjson.OPT_INDENT_2)]
    assessment = latest_assessment(session, train.id, series=True)
    if assessment is not None:
        told = assessment.document | {"series": assessment.series}
        yield "assessment.json", [orjson.dumps(told, option=orjson.OPT_INDENT_2)]
    yield "limits kept.csv", [_limits_csv(kept)]
    for name, table in tables_of_train().items():
        yield f"tables/{name}.csv", rows_of_train(session, table, train.id)
    yield "tables/reading_revisions.csv", revisions_of_train(session, train.id)
    yield "tables/elements.csv", elements_of_train(session, train.id)
    yield "tables/element_weights.csv", weights_of_train(session, train.id)
    yield "tables/cleaning_revisions.csv", rows_of_cleanings(session, CleaningRevision, train.id)
    yield "tables/cleaning_photos.csv", rows_of_cleanings(session, CleaningPhoto, train.id)
    yield from photos_of_train(session, train.id)


def _limits(session: Session, train_id: int, document: dict[str, object]) -> tuple[LimitKept, ...]:
    days = daily_frame(session, train_id)
    columns = {str(name).removeprefix("raw_"): days[name].to_numpy() for name in days if str(name).startswith("raw_")}
    plant = plant_from_dict(document)
    inlet, last = "feed_pressure_bar", len(plant.train.stages)
    for number in range(1, last + 1):
        outlet = "concentrate_pressure_bar" if number == last else f"stage{number}_concentrate_pressure_bar"
        inlet = f"stage{number}_feed_pressure_bar" if f"stage{number}_feed_pressure_bar" in columns else inlet
        if inlet in columns and outlet in columns:
            columns[f"stage{number}_pressure_drop_bar"] = columns[inlet] - columns[outlet]
        inlet = outlet
    return limits_kept(pd.DatetimeIndex(days.index), columns, plant.train)


def _limits_csv(kept: tuple[LimitKept, ...]) -> bytes:
    out = io.StringIO()
    frame = pd.DataFrame([vars(one) for one in kept], columns=list(LimitKept.__annotations__))
    frame.assign(name=plain_cells(frame["name"])).to_csv(out, index=False)
    return out.getvalue().encode()


def _first_page(train: Train, kept: tuple[LimitKept, ...], made_at: datetime) -> str:
    local = made_at.astimezone(ZoneInfo(train.site.timezone))
    lines = [
        f"How {train.name} of {train.site.name} was run",
        "",
        f"Made on {local:%Y-%m-%d at %H:%M} ({train.site.timezone}) by Skidbook {analytics.__version__}.",
        "",
        "plant.json         how the train is built, with the limits of its element models and its reference",
        "assessment.json    the latest verdict with all its numbers, and its days",
        "limits kept.csv    limits of the elements against the medians of each day",
        "tables/            the record as it is stored: readings with all versions, imports, events, elements,",
        "                   vessels, analyses, and who changed what, when and why. Times are UTC; nothing was left",
        "                   out but the bytes of imported files, whose SHA-256 stands in imports.csv",
        "photos/            of gauges, by entry of the shift log, and of cleanings, by record; those out of use too",
        f"{MANIFEST}      size and SHA-256 of every file here",
        "",
        "Limits:",
    ]
    for one in kept:
        over = f"{one.days_over} of {one.days} days above" if one.days_over else f"kept on all {one.days} days"
        lines.append(f"  {one.name}: {one.limit:g} {one.unit}; {over}; highest {one.highest:.3g}")
    lines += [
        "",
        "What is not listed was not metered. Values are medians of a day; single readings stand in the tables.",
        "",
    ]
    return "\n".join(lines)
