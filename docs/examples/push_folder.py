"""Push the CSV files that a controller writes into a folder to a Skidbook, again and again or once.

    SKIDBOOK_TOKEN=... python push_folder.py --url https://skidbook.example --train 1 --tags tags.json FOLDER

`tags.json` says what the columns of the files are; a column that is not named there is left out:

    {"time": "TIMESTAMP",
     "columns": {"PT-101": ["feed_pressure_bar", "psi"],
                 "FT-201": ["permeate_flow_m3h", "gpm"],
                 "TT-101": ["feed_temperature_c", "degF"]}}

Beside them it may have `"delimiter": ";"`, `"decimal": ","` and `"encoding": "cp1252"` where files are written so.
Times are ISO 8601 (2026-01-05T06:10:00Z); without an offset they are taken by the clock of the site. A file that was
stored is moved to the folder `sent` beside it, one of which readings were refused to `refused`, with the reasons in a
file of the same name and `.errors.json`; a file that is there already is not written over. When the server cannot be
reached, or takes nothing at all because the tags or the token are wrong, files stay and are tried again: every batch
carries a key made from its content, so nothing is stored twice, whatever is lost on the way.

It needs Python 3.11 or newer and nothing else. The token is read from the environment, never from the command line,
where other people of the machine could see it. The file that the controller is still writing is left alone: one that
has changed within `--settled` seconds is passed over, and one whose last line has no end ten times as long, for its
last number may be half a number. Where a controller adds to one file all day, let `--settled` be longer than its
pause between two lines.
"""

import argparse
import csv
import hashlib
import json
import os
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

BATCH = 1_000
PATIENCE_S = 60
UNFINISHED = 10


class NothingTaken(Exception):
    """The server took no reading of a batch, for a reason that is not in the file."""


def read_rows(path, tags):
    """Readings of one file as the interface takes them; cells that hold no number are sent as they are, to be named."""
    with path.open(newline="", encoding=tags.get("encoding", "utf-8-sig")) as stream:
        rows = csv.DictReader(stream, delimiter=tags.get("delimiter", ","))
        missing = [name for name in (tags["time"], *tags["columns"]) if name not in (rows.fieldnames or [])]
        if missing:
            raise ValueError(f"has no column {missing[0]!r}")
        return [
            {
                "taken_at": row[tags["time"]],
                "values": {
                    column: number(row[name], tags.get("decimal", ".")) for name, (column, _) in tags["columns"].items()
                },
            }
            for row in rows
        ]


def number(cell, decimal):
    """A cell as a number; None where it is blank, and the text itself where it is none."""
    text = (cell or "").strip()
    try:
        return float(text.replace(decimal, ".")) if text else None
    except ValueError:
        return text


def send(url, train, token, batch):
    """Send one batch; returns the status and the answer."""
    body = json.dumps(batch).encode()
    headers = {
        "Authorization": f"Bearer {token}",
        "Content-Type": "application/json",
        "Idempotency-Key": hashlib.sha256(body).hexdigest(),
    }
    request = urllib.request.Request(f"{url}/api/v1/trains/{train}/readings", data=body, headers=headers)
    try:
        with urllib.request.urlopen(request, timeout=PATIENCE_S) as answer:
            return answer.status, json.load(answer)
    except urllib.error.HTTPError as error:
        if error.code in (401, 403, 404, 429) or error.code >= 500:
            raise ConnectionError(f"{error.code}: {error.read().decode(errors='replace')[:300]}") from error
        return error.code, json.load(error)


def push(rows, url, train, token, tags):
    """Send the readings of one file, batch by batch; returns how many were stored, and what was refused."""
    units = dict(tags["columns"].values())
    stored, refused = 0, []
    for start in range(0, len(rows), BATCH):
        batch = {"readings": rows[start : start + BATCH], "units": units, "partial": True}
        status, answer = send(url, train, token, batch)
        if status >= 400:
            raise NothingTaken(answer.get("error", f"status {status}"))
        stored += answer.get("stored", 0)
        told = [*answer.get("errors", []), *answer.get("differences", [])]
        refused += [one | {"row": start + one["row"] + 1} for one in told]  # the first row of the file is its header
    return stored, refused


def main():
    """Read the command line and push what is there."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--url", required=True, help="address of the Skidbook")
    parser.add_argument("--train", required=True, type=int, help="number of the train")
    parser.add_argument("--tags", required=True, type=Path, help="what the columns are, as JSON")
    parser.add_argument("--every", type=float, default=0, help="seconds between two looks; once when not given")
    parser.add_argument("--settled", type=float, default=60, help="seconds for which a file must not have changed")
    options = parser.parse_args()
    token = os.environ.get("SKIDBOOK_TOKEN", "")
    if not token:
        sys.exit("Set SKIDBOOK_TOKEN to a token of the site that may write.")
    tags = json.loads(options.tags.read_text(encoding="utf-8"))
    while True:
        reached = look(options, token, tags)
        if not options.every:
            return 0 if reached else 1
        time.sleep(options.every)


def is_finished(path, settled):
    """Whether a controller seems to be done with a file: it has something in it, and has not changed for a while."""
    age = time.time() - path.stat().st_mtime
    with path.open("rb") as stream:
        if not stream.seek(0, os.SEEK_END):
            return False
        stream.seek(-1, os.SEEK_END)
        ended = stream.read() in (b"\n", b"\r")
    return age >= (settled if ended else settled * UNFINISHED)


def look(options, token, tags):
    """Push every file that is there; False when the server could not be reached, or took nothing."""
    for path in sorted(options.folder.glob("*.csv")):
        try:
            if not is_finished(path, options.settled):
                continue
            rows, stored, refused = read_rows(path, tags), 0, []
        except OSError as error:
            print(f"{path.name}: tried again later ({error})", file=sys.stderr)
            continue
        except (ValueError, csv.Error) as error:
            rows, stored, refused = [], 0, [{"row": 1, "error": str(error)}]
        try:
            if rows:
                stored, refused = push(rows, options.url.rstrip("/"), options.train, token, tags)
        except (OSError, json.JSONDecodeError, NothingTaken) as error:
            print(f"{path.name}: tried again later ({error})", file=sys.stderr)
            return False
        put_away(path, options.folder / ("refused" if refused else "sent"), refused)
        print(f"{path.name}: {stored} stored, {len(refused)} refused")
    return True


def put_away(path, target, refused):
    """Move a file, and write what was refused beside it, under a name that is not taken."""
    target.mkdir(exist_ok=True)
    name, number = target / path.name, 1
    while name.exists():
        number += 1
        name = target / f"{path.stem}-{number}{path.suffix}"
    if refused:
        (target / f"{name.name}.errors.json").write_text(json.dumps(refused, indent=1), encoding="utf-8")
    path.replace(name)


if __name__ == "__main__":
    sys.exit(main())
