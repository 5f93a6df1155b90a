"""People, what they may do at which site, their sessions, one-time links, and tokens of machines.

Nothing here holds a secret that could be used: passwords are argon2id hashes, and of sessions, links and tokens, which
are 256 random bits, only the SHA-256 is kept.
"""

from datetime import datetime

from sqlalchemy import Boolean, ForeignKey, Index, Integer, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, UtcTime, now

DIGEST_LENGTH = 64


class User(Base):
    """One person. `password_hash` is empty until a link was used; `disabled_at` closes the door, the name stays."""

    __tablename__ = "users"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    email: Mapped[str] = mapped_column(String(254), unique=True)
    name: Mapped[str] = mapped_column(String(200))
    password_hash: Mapped[str] = mapped_column(Text, default="")
    administrator: Mapped[bool] = mapped_column(Boolean, default=False)
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    last_sign_in_at: Mapped[datetime | None] = mapped_column(UtcTime)
    disabled_at: Mapped[datetime | None] = mapped_column(UtcTime)


class SiteRole(Base):
    """What a person is at one site: operator, engineer or manager (`server.accounts.roles`)."""

    __tablename__ = "site_roles"
    __table_args__ = (Index(None, "site_id"),)

    user_id: Mapped[int] = mapped_column(ForeignKey("users.id"), primary_key=True)
    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"), primary_key=True)
    role: Mapped[str] = mapped_column(String(16))


class UserSession(Base):
    """One browser that is signed in. It ends at `expires_at`, or earlier when it was not used for long."""

    __tablename__ = "sessions"
    __table_args__ = (Index(None, "user_id"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    digest: Mapped[str] = mapped_column(String(DIGEST_LENGTH), unique=True)
    user_id: Mapped[int] = mapped_column(ForeignKey("users.id"))
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    last_used_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    expires_at: Mapped[datetime] = mapped_column(UtcTime)


class OneTimeLink(Base):
    """An address with which a person sets a password once; `purpose` is invitation or reset."""

    __tablename__ = "one_time_links"
    __table_args__ = (Index(None, "user_id"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    digest: Mapped[str] = mapped_column(String(DIGEST_LENGTH), unique=True)
    user_id: Mapped[int] = mapped_column(ForeignKey("users.id"))
    purpose: Mapped[str] = mapped_column(String(16))
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    expires_at: Mapped[datetime] = mapped_column(UtcTime)
    used_at: Mapped[datetime | None] = mapped_column(UtcTime)


class ApiToken(Base):
    """What a machine shows to reach the readings of one site."""

    __tablename__ = "api_tokens"
    __table_args__ = (Index(None, "site_id"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    digest: Mapped[str] = mapped_column(String(DIGEST_LENGTH), unique=True)
    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"))
    name: Mapped[str] = mapped_column(String(100))
    may_read: Mapped[bool] = mapped_column(Boolean, default=False)
    may_write: Mapped[bool] = mapped_column(Boolean, default=False)
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    last_used_at: Mapped[datetime | None] = mapped_column(UtcTime)
    revoked_at: Mapped[datetime | None] = mapped_column(UtcTime)
