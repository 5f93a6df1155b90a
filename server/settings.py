"""Every setting of the program. Each is read from the environment, named SKIDBOOK_ and the name in capitals."""

from typing import Literal

from pydantic import Field, SecretStr, ValidationError
from pydantic_settings import BaseSettings, SettingsConfigDict

from server.errors import AppError

MEGABYTE = 1024 * 1024


class Settings(BaseSettings):
    """Settings with their defaults; the help texts are what docs/files.md shows."""

    model_config = SettingsConfigDict(env_prefix="SKIDBOOK_", frozen=True)

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

    @property
    def host_names(self) -> tuple[str, ...]:
        """Names by which this server may be reached, beside localhost and plain numbers."""
        return tuple(name.strip() for name in (*self.allowed_hosts.split(","), self.host) if name.strip())


class WrongSetting(AppError):
    """A setting that cannot be meant."""


def load_settings() -> Settings:
    """The settings of this environment; raises `WrongSetting` for the first that cannot be meant."""
    try:
        return Settings()
    except ValidationError as error:
        first = error.errors()[0]
        name = f"SKIDBOOK_{str(first['loc'][0]).upper()}"
        raise WrongSetting(f'{name}: "{first["input"]}" cannot be used; {first["msg"]}') from error
