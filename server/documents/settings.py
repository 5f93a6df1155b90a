"""docs/operations/settings.md: every setting, written from the code."""

import json
from typing import Any

from pydantic import SecretStr

from server.guard import ROOT
from server.settings import FILE, PREFIX, Settings

PAGE = ROOT / "docs" / "operations" / "settings.md"

INTRODUCTION = """# Settings

This page is written from the code; do not edit it, run `uv run python -m server.documents`. A test fails when it is out
of date.

Each setting is read from the environment, else from the file that `{file}` or `skidbook --settings FILE` names, else
it has its default. The file is TOML with the names in small letters, and a name that is not known is refused:

```toml
{example}
```

A setting that cannot be meant stops the program with one line that names it; the value of a secret is not shown. Keep a
file with secrets readable for the user of the server alone (`chmod 600`).
"""


def settings_page() -> str:
    """The whole page, as Markdown."""
    rows = [
        f"| `{PREFIX}{name.upper()}` | `{name}` | {_default(field.default)} | {field.description} |"
        for name, field in Settings.model_fields.items()
    ]
    table = ["| in the environment | in the file | default | meaning |", "|---|---|---|---|", *rows, ""]
    return "\n".join([INTRODUCTION.format(file=FILE, example=EXAMPLE.strip()), *table])


EXAMPLE = """
database_url = "sqlite:////var/lib/skidbook/skidbook.db"
allowed_hosts = "skid.example.org"
behind_tls = true
log_format = "json"
"""


def _default(value: Any) -> str:
    if isinstance(value, SecretStr):
        value = value.get_secret_value()
    if value == "":
        return "none"
    return f"`{json.dumps(value)}`" if isinstance(value, bool) else f"`{value}`"
