"""Every setting of the program.

Each is read from the environment, named SKIDBOOK_ and the name in capitals, and else from the file that
SKIDBOOK_SETTINGS names: TOML, with the names as they stand here.
"""

import difflib
import os
import tomllib
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, SecretStr, ValidationError
from pydantic_settings import BaseSettings, SettingsConfigDict

from server.errors import AppError

MEGABYTE = 1024 * 1024
PREFIX = "SKIDBOOK_"
FILE = f"{PREFIX}SETTINGS"


class Settings(BaseSettings):
    """Settings with their defaults; the help texts are what docs/operations/settings.md shows."""

    model_config = SettingsConfigDict(env_prefix=PREFIX, frozen=True)

    database_url: str = Field(
        default="sqlite:///skidbook.db",
        description="Where the records are kept: sqlite:///FILE, or postgresql://USER@HOST/NAME.",
    )
    host: str = Field(default="127.0.0.1", description="Address to listen on; 0.0.0.0 listens on all.")
    port: int = Field(default=8420, ge=0, le=65535, description="Port to listen on.")
    allowed_hosts: str = Field(
        default="",
        description="Names by which browsers reach this server, separated by commas, such as skid.example.org; "
        "localhost and plain numbers are always taken.",
    )
    behind_tls: bool = Field(
        default=False, description="True where browsers come by https: cookies are Secure, and stay with https."
    )
    trusted_proxies: str = Field(
        default="127.0.0.1",
        description="Addresses of reverse proxies whose X-Forwarded headers are believed, separated by commas.",
    )
    smtp_host: str = Field(default="", description="Mail server for invitations; without one, links are only shown.")
    smtp_port: int = Field(default=587, ge=1, le=65535, description="Port of the mail server.")
    smtp_security: Literal["starttls", "tls", "none"] = Field(
        default="starttls", description="How mail is kept private on its way: starttls, tls, or none."
    )
    smtp_user: str = Field(default="", description="Name to sign in to the mail server, if it wants one.")
    smtp_password: SecretStr = Field(default=SecretStr(""), description="Password for the mail server.")
    smtp_from: str = Field(default="", description="Address that mail comes from.")
    max_upload_bytes: int = Field(
        default=64 * MEGABYTE, ge=1, description="Largest file that may be uploaded, in bytes."
    )
    max_file_bytes: int = Field(
        default=1024 * MEGABYTE, ge=1, description="Largest file that the command line reads, in bytes."
    )
    max_upload_rows: int = Field(default=2_000_000, ge=1, description="Most rows that one file of readings may have.")

    log_level: Literal["debug", "info", "warning", "error"] = Field(
        default="info", description="How much goes into the log: debug, info, warning or error."
    )
    log_format: Literal["json", "plain"] = Field(
        default="plain", description="Lines of the log: plain for a person, or json for a machine that collects them."
    )
    metrics_token: SecretStr = Field(
        default=SecretStr(""),
        description="With this token /metrics answers from elsewhere, too; without one only on the machine itself.",
    )

    @property
    def host_names(self) -> tuple[str, ...]:
        """Names by which this server may be reached, beside localhost and plain numbers."""
        return tuple(name.strip() for name in (*self.allowed_hosts.split(","), self.host) if name.strip())


class WrongSetting(AppError):
    """A setting that cannot be meant."""


def load_settings() -> Settings:
    """The settings of this environment and its file; raises `WrongSetting` for the first that cannot be meant."""
    file = os.environ.get(FILE, "")
    given = _from_file(Path(file)) if file else {}
    outside = {name.upper() for name in os.environ}
    kept = {name: value for name, value in given.items() if f"{PREFIX}{name.upper()}" not in outside}
    try:
        return Settings(**kept)
    except ValidationError as error:
        raise WrongSetting(_words(error, file, kept)) from None  # the error itself would show secrets


def _from_file(path: Path) -> dict[str, Any]:
    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise WrongSetting(f"{path}: the settings cannot be read ({error.strerror})") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise WrongSetting(f"{path}: is not valid TOML: {error}") from error
    for name in found:
        if name not in Settings.model_fields:
            near = difflib.get_close_matches(name, Settings.model_fields, n=1)
            raise WrongSetting(f"{path}: {name}: no such setting" + (f'; did you mean "{near[0]}"?' if near else ""))
    return found


def _words(error: ValidationError, file: str, from_file: dict[str, Any]) -> str:
    """One line about the first slip, without the value where that is a secret."""
    first = error.errors()[0]
    name = str(first["loc"][0]).lower()
    where = f"{file}: {name}" if name in from_file else f"{PREFIX}{name.upper()}"
    field = Settings.model_fields.get(name)
    secret = field is not None and field.annotation is SecretStr
    value = "the value" if secret else f'"{first["input"]}"'
    return f"{where}: {value} cannot be used; {first['msg']}"
