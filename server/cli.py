"""The command line. Each command imports what it needs when it runs, so that help comes at once.

Exit status: 0 answered, 2 bad arguments or unreadable input, with one plain line on standard error and nothing
written.
"""

import os
import sys
from pathlib import Path
from typing import Annotated

import typer
from typer.exceptions import TyperException

from server.errors import AppError
from server.guard import WrongPackage, check_packages

BAD_INPUT = 2

app = typer.Typer(
    name="skidbook",
    help="The shared logbook of a reverse-osmosis plant: readings go in; what changed, where and why comes out.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
plant_app = typer.Typer(help="Trains in the records.", rich_markup_mode=None)
app.add_typer(plant_app, name="plant")
user_app = typer.Typer(help="People who may sign in.", rich_markup_mode=None)
app.add_typer(user_app, name="user")


@app.callback()
def settings_file(
    settings: Annotated[
        Path | None, typer.Option("--settings", metavar="FILE", help="Settings (TOML) [SKIDBOOK_SETTINGS].")
    ] = None,
) -> None:
    """Take the settings of a file, before any command; what is to be told on the way goes to standard error."""
    from server.watching.logs import set_up_logs

    set_up_logs("warning", "plain")
    if settings is not None:
        os.environ["SKIDBOOK_SETTINGS"] = str(settings)


PlantFile = Annotated[Path, typer.Argument(metavar="PLANT", help="Plant file (TOML).")]
ReadingsFile = Annotated[Path, typer.Argument(metavar="READINGS", help="Readings (CSV or XLSX).")]
MappingFile = Annotated[
    Path | None, typer.Option("--mapping", metavar="FILE", help="Mapping (TOML) for other headers.")
]


@app.command()
def assess(
    plant: PlantFile,
    readings: ReadingsFile,
    events: Annotated[Path | None, typer.Option(metavar="FILE", help="Events (CSV or XLSX).")] = None,
    mapping: MappingFile = None,
    as_of: Annotated[
        str, typer.Option(metavar="TIME", help="Look at nothing later. ISO 8601, local without an offset.")
    ] = "",
    json: Annotated[
        str, typer.Option(metavar="FILE", help="Also write the answer as JSON; - is standard output.")
    ] = "",
    series: Annotated[bool, typer.Option("--series", help="Put the daily values into the JSON.")] = False,
) -> None:
    """Say what has changed, where, and what to do."""
    from server.commands.assess import run_assess

    run_assess(plant, readings, events=events, mapping=mapping, as_of=as_of, json=json, series=series)


@app.command()
def normalize(
    plant: PlantFile,
    readings: ReadingsFile,
    out: Annotated[Path, typer.Option(metavar="FILE", help="CSV file to write; - is standard output.")],
    mapping: MappingFile = None,
) -> None:
    """Write every reading with every intermediate and the reason why it was set aside."""
    from server.commands.normalize import run_normalize

    run_normalize(plant, readings, out=out, mapping=mapping)


@app.command(name="import")
def import_(
    train: Annotated[str, typer.Argument(metavar="TRAIN", help='Number or name of the train, or "site / train".')],
    readings: ReadingsFile,
    mapping: MappingFile = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Say what would be stored, and store nothing.")] = False,
    author: Annotated[str, typer.Option(metavar="NAME", help="Who brings the readings in.")] = "",
) -> None:
    """Store a file of readings: all that are new, or none."""
    from server.commands.records import run_import

    run_import(train, readings, mapping=mapping, dry_run=dry_run, author=author)


@plant_app.command(name="add")
def plant_add(
    plant: PlantFile,
    events: Annotated[Path | None, typer.Option(metavar="FILE", help="Events (CSV or XLSX).")] = None,
    author: Annotated[str, typer.Option(metavar="NAME", help="Who adds the train.")] = "",
) -> None:
    """Add the train of a plant file to the records."""
    from server.commands.records import run_plant_add

    run_plant_add(plant, events=events, author=author)


@user_app.command(name="add")
def user_add(
    email: Annotated[str, typer.Argument(metavar="ADDRESS", help="Address of the person, to sign in with.")],
    name: Annotated[str, typer.Option(metavar="NAME", help="Stands beside what they write into the log.")] = "",
    administrator: Annotated[bool, typer.Option("--administrator", help="May do everything, everywhere.")] = False,
    password_stdin: Annotated[
        bool, typer.Option("--password-stdin", help="Read the password from the first line.")
    ] = False,
) -> None:
    """Add a person. The password is asked for, or read from SKIDBOOK_PASSWORD; without one, a link is printed."""
    from server.commands.people import run_user_add

    run_user_add(email, name=name, administrator=administrator, password_stdin=password_stdin)


@user_app.command(name="link")
def user_link(
    email: Annotated[str, typer.Argument(metavar="ADDRESS", help="Address of the person.")],
) -> None:
    """Print a link with which a person chooses a new password."""
    from server.commands.people import run_user_link

    run_user_link(email)


@user_app.command(name="list")
def user_list() -> None:
    """Print everybody."""
    from server.commands.people import run_user_list

    run_user_list()


@app.command()
def migrate() -> None:
    """Bring the database up to this version of the program."""
    from server.commands.records import run_migrate

    run_migrate()


@app.command()
def backup(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Backup to write; an older backup there is replaced.")],
) -> None:
    """Write a backup of the records, also while they are served."""
    from server.commands.keeping import run_backup

    run_backup(file)


@app.command()
def restore(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Backup to bring back.")],
    verify: Annotated[bool, typer.Option("--verify", help="Only say whether the backup is whole.")] = False,
) -> None:
    """Put a backup in the place of the records; those of before are kept beside it."""
    from server.commands.keeping import run_restore

    run_restore(file, verify=verify)


@app.command()
def check() -> None:
    """Say whether the records are whole; exit status 1 when they are not."""
    from server.commands.keeping import run_check

    raise typer.Exit(run_check())


@app.command()
def serve(
    host: Annotated[str, typer.Option(metavar="ADDRESS", help="Address to listen on [SKIDBOOK_HOST].")] = "",
    port: Annotated[int | None, typer.Option(min=0, max=65535, help="Port to listen on [SKIDBOOK_PORT].")] = None,
) -> None:
    """Serve the configured database in the browser."""
    from server.commands.serve import run_serve

    run_serve(host=host, port=port)


@app.command()
def demo(
    port: Annotated[int | None, typer.Option(min=0, max=65535, help="Port to listen on; 0 takes a free one.")] = None,
) -> None:
    """Build the invented demo fleet in a scratch database and serve it."""
    from server.commands.serve import run_demo

    run_demo(port=port)


def main() -> None:
    """Run the command line; never a traceback for what a user can mend."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        check_packages()
        sys.exit(app(standalone_mode=False) or 0)
    except (AppError, WrongPackage) as error:
        _fail(str(error))
    except TyperException as error:
        _fail(f"{error.format_message()} See: skidbook --help")
    except (KeyboardInterrupt, typer.Abort):
        sys.exit(130)


def _fail(message: str) -> None:
    """One plain line, whatever the message holds."""
    print(" ".join(message.split()), file=sys.stderr)
    sys.exit(BAD_INPUT)
