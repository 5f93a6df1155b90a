"""What the budget rests on and what came of it: choices, life forecasts, orders, and plans that were kept."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import BigInteger, Date, ForeignKey, Index, Integer, String, Text, text
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, Json, UtcTime, now


class BudgetChoice(Base):
    """One price, rate or contract value as text; the newest of a name counts, the older ones are its history.

    It belongs to a train, or to a site, or (both empty) to the whole logbook.
    """

    __tablename__ = "budget_choices"
    __table_args__ = (Index(None, "site_id", "name"), Index(None, "train_id", "name"))

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    site_id: Mapped[int | None] = mapped_column(ForeignKey("sites.id"))
    train_id: Mapped[int | None] = mapped_column(ForeignKey("trains.id"))
    name: Mapped[str] = mapped_column(String(64))
    value: Mapped[str] = mapped_column(String(64))
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)


class Life(Base):
    """The life of a train's elements as the latest assessment left it (`server.budget.life_document`)."""

    __tablename__ = "lives"

    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"), primary_key=True)
    as_of: Mapped[datetime] = mapped_column(UtcTime)
    document: Mapped[dict[str, Any]] = mapped_column(Json)
    version: Mapped[str] = mapped_column(String(32))
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)


class Spending(Base):
    """Elements that were ordered, or paid and put in: what the plan is held against. Never changed, only withdrawn.

    `amount_cents` is in hundredths of the site's currency.
    """

    __tablename__ = "spendings"
    __table_args__ = (Index(None, "train_id", "day"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    kind: Mapped[str] = mapped_column(String(16))
    day: Mapped[date] = mapped_column(Date)
    elements: Mapped[int] = mapped_column(Integer)
    amount_cents: Mapped[int] = mapped_column(BigInteger)
    note: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    withdrawn_at: Mapped[datetime | None] = mapped_column(UtcTime)
    withdrawn_by: Mapped[str] = mapped_column(String(200), default="", server_default=text("''"))


class KeptPlan(Base):
    """The expected cost of a train by year, as it stood when somebody kept it: {"2027": "23400"}, whole money."""

    __tablename__ = "kept_plans"
    __table_args__ = (Index(None, "train_id", "id"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    years: Mapped[dict[str, Any]] = mapped_column(Json)
    author: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
