"""What holds for the repository as a whole: its shape, its limits, and that its documents are true."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import analytics
from server.guard import WrongPackage, check_packages
from server.settings import Settings
from tests.programs import environment

ROOT = Path(analytics.__file__).resolve().parent.parent
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "server", "analytics", "migrations", "tests", "demo_data", "docs",
}  # fmt: skip
LINK = r"\]\(([^)#\s]+)[^)]*\)"
LONGEST_FILE = 500
LONGEST_FUNCTION = 50
"""Lines of a source file, and lines of code of a function; past these a thing does more than one thing."""


def _tracked() -> list[Path]:
    """Every file of the repository, relative to its root."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode != 0:
        pytest.skip("this is no git checkout, so nothing tells which files belong to the repository")
    return [path for name in listed.stdout.split("\0") if name and (path := Path(name)) and (ROOT / path).exists()]


def _text(path: Path) -> str:
    return (ROOT / path).read_text(encoding="utf-8")


def _tracked_source(*suffixes: str) -> list[Path]:
    return [path for path in _tracked() if path.suffix in suffixes]


def test_the_top_level_holds_what_was_agreed_and_nothing_else() -> None:
    found = {path.parts[0] for path in _tracked()}
    assert {name for name in found if not name.startswith(".")} == TOP_LEVEL


def test_no_source_file_is_too_long() -> None:
    long = {
        str(p): n for p in _tracked_source(".py", ".js", ".css", ".html") if (n := _text(p).count("\n")) > LONGEST_FILE
    }
    assert long == {}, f"longer than {LONGEST_FILE} lines"


def _lines_of_code(function: ast.FunctionDef | ast.AsyncFunctionDef, source: list[str]) -> int:
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    lines = source[body[0].lineno - 1 : function.end_lineno] if body else []
    return sum(1 for line in lines if line.strip() and not line.strip().startswith("#"))


def test_no_function_is_too_long() -> None:
    long = {}
    for path in _tracked_source(".py"):
        if path.parts[0] == "migrations":  # a migration lists what it does, table by table
            continue
        text = _text(path)
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                count = _lines_of_code(node, text.splitlines())
                if count > LONGEST_FUNCTION:
                    long[f"{path}:{node.name}"] = count
    assert long == {}, f"longer than {LONGEST_FUNCTION} lines of code"


@pytest.mark.parametrize(
    ("folder", "pattern", "why", "except_in"),
    [
        ("analytics", r"\bdatetime\.now\b|\btime\.time\b|\bPath\(|\bopen\(|\benviron\b|\blogging\b|\bwarnings\.",
         "analytics has no clock, file, setting or log: the same input gives the same answer", ()),
        ("analytics", r"\bnp\.random\.(?!Generator)", "randomness is passed in as rng", ()),
        ("server", r"\.commit\(\)", "only the transaction of server/db.py commits", ("server/db.py",)),
        ("server", r"273\.15|14\.50|0\.0689|3\.785", "units are converted in analytics/units.py alone", ()),
        ("tests", r"\bcreate_all\b\(", "tests build the schema by the migrations, as users do", ()),
    ],
)  # fmt: skip
def test_no_source_does_what_the_house_forbids(folder: str, pattern: str, why: str, except_in: tuple[str, ...]) -> None:
    found = [
        f"{path}:{number}"
        for path in _tracked_source(".py")
        if path.parts[0] == folder and str(path) not in except_in
        for number, line in enumerate(_text(path).splitlines(), start=1)
        if re.search(pattern, line)
    ]
    assert found == [], why


def test_no_module_is_a_drawer_for_everything() -> None:
    assert [str(p) for p in _tracked_source(".py") if p.stem in {"utils", "util", "helpers", "common", "misc"}] == []


def test_analytics_needs_nothing_but_numpy_pandas_and_scipy() -> None:
    script = """
import importlib, pkgutil, sys
for name in ("server", "migrations", "sqlalchemy", "fastapi", "starlette", "pydantic", "jinja2", "typer", "plotly"):
    sys.modules[name] = None  # importing it fails
import analytics
for module in pkgutil.walk_packages(analytics.__path__, "analytics."):
    importlib.import_module(module.name)
print(len([name for name in sys.modules if name.startswith("analytics.")]))
"""
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, env=environment(), capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) >= len(list((ROOT / "analytics").rglob("[a-z]*.py")))


def test_the_guard_accepts_this_project_and_refuses_a_package_from_elsewhere(tmp_path: Path) -> None:
    check_packages()
    with pytest.raises(WrongPackage, match="outside"):
        check_packages(root=tmp_path)
    with pytest.raises(WrongPackage, match="missing"):
        check_packages(names=("no_such_package_here",))


def test_another_package_of_the_same_name_stops_the_command_line(tmp_path: Path) -> None:
    (tmp_path / "migrations").mkdir()
    (tmp_path / "migrations" / "__init__.py").touch()
    script = "from server.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", script, "migrate"],
        cwd=tmp_path,
        env={"PYTHONPATH": str(tmp_path), "SKIDBOOK_DATABASE_URL": f"sqlite:///{tmp_path}/x.db"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert 'the package "migrations" was found at' in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert not (tmp_path / "x.db").exists()


def test_every_setting_is_documented() -> None:
    pages = "\n".join(_text(path) for path in _tracked_source(".md"))
    prefix = Settings.model_config["env_prefix"]
    assert [f"{prefix}{name.upper()}" for name in Settings.model_fields if f"{prefix}{name.upper()}" not in pages] == []
    assert [name for name, field in Settings.model_fields.items() if not field.description] == []


def test_links_between_documents_lead_somewhere() -> None:
    links = [(page, target) for page in _tracked_source(".md") for target in re.findall(LINK, _text(page))]
    local = [(page, target) for page, target in links if "://" not in target]
    assert [f"{page}: {target}" for page, target in local if not (ROOT / page.parent / target).exists()] == []


def test_sections_named_in_code_stand_in_their_document() -> None:
    named = {
        (page, title, str(path))
        for path in _tracked_source(".py")
        for page, title in re.findall(r'(docs/\w+\.md),\s+"([^"]+)"', _text(path))
        if path.name != Path(__file__).name
    }
    missing = [
        name for name in sorted(named) if not re.search(rf"^#+ {re.escape(name[1])}$", _text(Path(name[0])), re.M)
    ]
    assert missing == []


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", "docs/architecture.md", "docs/guide.md"])
def test_files_named_in_a_document_are_there(page: str) -> None:
    """A path in code marks, such as `server/db.py`, is meant from the root of the repository."""
    named = set(
        re.findall(r"`((?:server|analytics|migrations|tests|demo_data|docs|\.ci)/[\w./-]+)`", _text(Path(page)))
    )
    assert [name for name in sorted(named) if not (ROOT / name).exists()] == []


def test_every_room_stands_in_the_architecture() -> None:
    rooms = {f"{path.parts[0]}/{path.parts[1]}/" for path in _tracked_source(".py") if len(path.parts) > 2}
    known = _text(Path("docs/architecture.md"))
    told = {room for room in rooms if room.startswith(("analytics/", "server/"))}
    assert [room for room in sorted(told) if f"`{room}`" not in known] == []


def test_decisions_are_numbered_without_gaps_and_say_what_enforces_them() -> None:
    records = sorted((ROOT / "docs" / "decisions").glob("*.md"))
    assert [int(record.name[:4]) for record in records] == list(range(1, len(records) + 1))
    for record in records:
        text = record.read_text(encoding="utf-8")
        number = int(record.name[:4])
        assert text.startswith(f"# {number}. "), record.name
        assert "\nStatus: " in text, record.name
        enforced = text.partition("\n## Enforced by\n")[2]
        named = re.findall(r"`((?:server|analytics|migrations|tests|docs|\.ci)/[\w./-]+|pyproject\.toml)`", enforced)
        assert named, f"{record.name} names nothing that enforces it"
        assert [name for name in named if not (ROOT / name).exists()] == [], record.name


def test_every_dependency_has_its_reason_in_a_decision() -> None:
    project = tomllib.loads(_text(Path("pyproject.toml")))
    wanted = [*project["project"]["dependencies"], *project["dependency-groups"]["dev"]]
    records = "\n".join(_text(path) for path in _tracked_source(".md") if path.parent.name == "decisions").lower()
    names = [re.split(r"[^\w-]", one.lower())[0] for one in wanted]
    assert [name for name in names if not re.search(rf"\b{name}\b", records)] == []


def test_every_table_of_outside_values_names_its_source() -> None:
    folder = ROOT / "tests" / "published"
    sources = (folder / "README.md").read_text(encoding="utf-8")
    tables = sorted(folder.glob("*.csv"))
    assert tables
    for table in tables:
        columns = table.read_text(encoding="utf-8").splitlines()[0].split(",")
        assert "source" in columns or f"`{table.name}`" in sources, f"{table.name} has no source"
    listed = set(re.findall(r"`([\w]+\.csv)`", sources))
    assert listed <= {table.name for table in tables}


def test_the_version_stands_in_one_place_and_its_changes_are_written_down() -> None:
    assert f'\nversion = "{analytics.__version__}"\n' in _text(Path("pyproject.toml"))
    changelog = _text(Path("docs/changelog.md"))
    assert f"\n## {analytics.__version__}" in changelog
    assert "\n### Results change\n" in changelog


def test_the_licence_is_stated_and_its_text_is_there() -> None:
    assert '\nlicense = "Apache-2.0"\n' in _text(Path("pyproject.toml"))
    assert "Apache License 2.0" in _text(Path("README.md"))
    assert "Version 2.0, January 2004" in _text(Path("docs/LICENSE.md"))
