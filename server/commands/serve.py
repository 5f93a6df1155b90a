"""`skidbook serve` and `skidbook demo`."""

import signal
import socket
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from types import FrameType

import uvicorn
from sqlalchemy import Engine

from server.accounts.demo import add_demo_people
from server.accounts.secrets import new_secret
from server.app import create_app
from server.assessments.queries import latest_assessment
from server.budget.demo import add_demo_budget, add_demo_contract
from server.cleanings.demo import add_demo_cleanings
from server.commands.people import nobody_yet
from server.db import make_engine, transaction
from server.elements.demo import add_demo_elements
from server.errors import AppError
from server.events.actions import add_events
from server.events.events_file import read_events
from server.feedwater.demo import add_demo_analysis
from server.guard import ROOT
from server.intake.actions import Upload, import_readings
from server.keeping.lock import held
from server.keeping.sqlite_files import sqlite_path
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text, read_plant_text
from server.schema import migrate
from server.settings import Settings, load_settings
from server.watching.logs import set_up_logs

FLEET = ROOT / "demo_data" / "fleet"
ANY_TIME = datetime(9999, 1, 1, tzinfo=UTC)
"""The demo fleet has its own time, whatever the clock of this machine says."""


class PortTaken(AppError):
    """Somebody else listens there."""


def run_serve(*, host: str, port: int | None) -> None:
    """Bring the schema up to date and serve until stopped."""
    settings = load_settings()
    settings = settings.model_copy(
        update={"host": host or settings.host, "port": settings.port if port is None else port}
    )
    set_up_logs(settings.log_level, settings.log_format)
    engine = make_engine(settings.database_url)
    with held(sqlite_path(engine), "skidbook serve"):
        migrate(engine)
        engine.dispose()
        _serve_aloud(settings, _listen(settings))


def _serve_aloud(settings: Settings, listener: socket.socket) -> None:
    """Serve, after saying where, and how the first person gets in."""
    print(f"Skidbook is at {_address(listener)}. Stop with Ctrl+C.", flush=True)
    setup_key = new_secret() if nobody_yet(settings) else ""
    if setup_key:
        local = f"http://localhost:{listener.getsockname()[1]}/set-up?key={setup_key}"
        print(f"Nobody can sign in yet. Make the first account, on this machine, at\n  {local}", flush=True)
        print("or with: skidbook user add ADDRESS --administrator", flush=True)
    _serve(settings, listener, setup_key=setup_key)


WALKS = "pretreatment.csv"
"""A second log that a train of the demo fleet may have."""


def run_demo(*, port: int | None) -> None:
    """Load the demo fleet into a scratch database, serve it, and leave nothing behind."""
    if not FLEET.is_dir():
        raise AppError(f"{FLEET}: the files of the demo fleet are missing; run it from the project's own folder")
    signal.signal(signal.SIGTERM, _stop)
    set_up_logs("warning", "plain")
    with tempfile.TemporaryDirectory(prefix="skidbook-demo-") as folder:
        settings = Settings(database_url=f"sqlite:///{folder}/demo.db")
        settings = settings.model_copy(update={"port": settings.port if port is None else port})
        listener = _listen(settings)
        engine = make_engine(settings.database_url)
        migrate(engine)
        print("Building the demo fleet in a scratch database:", flush=True)
        for train in sorted(path for path in FLEET.iterdir() if path.is_dir()):
            _load(engine, train)
        with transaction(engine) as session:
            add_demo_people(session)
            add_demo_budget(session)
        engine.dispose()
        print(
            f"\nSkidbook is at {_address(listener)}\nSign in there with one click, as operator, engineer or manager. "
            "Stop with Ctrl+C; nothing is kept.",
            flush=True,
        )
        _serve(settings, listener, demo=True)


def _load(engine: Engine, folder: Path) -> None:
    start = time.monotonic()
    text = read_plant_text(folder / "plant.toml")
    plant = plant_from_text(text, file=f"{folder.name}/plant.toml")
    readings = folder / "readings.csv"
    with transaction(engine) as session:
        train = add_plant(session, plant, text, author="demo")
        add_demo_contract(session, train, plant.site.name)
        events = read_events(folder / "events.csv", timezone=plant.site.timezone, stages=len(plant.train.stages))
        add_events(session, train.id, events, author="demo")
        add_demo_cleanings(session, train, plant.site.name)
        add_demo_analysis(session, train, plant.site.name)
        add_demo_elements(session, train, plant.site.name)
        upload = Upload(readings.name, readings.read_bytes(), author="demo", latest=ANY_TIME)
        counts = import_readings(session, train.id, upload).counts
        if (walks := folder / WALKS).is_file():
            import_readings(session, train.id, Upload(walks.name, walks.read_bytes(), author="demo", latest=ANY_TIME))
        record = latest_assessment(session, train.id)
        level = record.level if record else "no answer"
    seconds = time.monotonic() - start
    name = f"{plant.site.name} / {plant.train.name}"
    print(f"  {name:<34}{counts['stored']:>6} readings  {seconds:4.1f} s  {level}", flush=True)


def _listen(settings: Settings) -> socket.socket:
    """Take the port before anything else is done, so that a taken one is told in one line."""
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((settings.host, settings.port))
    except OSError as error:
        listener.close()
        where = f"{settings.host}:{settings.port}"
        raise PortTaken(f"cannot listen on {where} ({error.strerror}); choose another with --port") from error
    listener.listen(128)
    return listener


def _address(listener: socket.socket) -> str:
    host, port = listener.getsockname()[:2]
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"


def _serve(settings: Settings, listener: socket.socket, *, demo: bool = False, setup_key: str = "") -> None:
    app = create_app(settings, demo=demo, setup_key=setup_key)
    trusted = [name.strip() for name in settings.trusted_proxies.split(",") if name.strip()]
    config = uvicorn.Config(app, log_config=None, access_log=False, server_header=False, forwarded_allow_ips=trusted)
    uvicorn.Server(config).run(sockets=[listener])


def _stop(_signal: int, _frame: FrameType | None) -> None:
    sys.exit(0)
