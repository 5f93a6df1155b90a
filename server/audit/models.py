"""The record of who changed what, when and why. It only grows: triggers in the database refuse all else."""

from datetime import datetime
from typing import Any

from sqlalchemy import BigInteger, ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from server.db import Base, Json, LargeId, UtcTime, now

KINDS = {
    "plant-added": "Plant added",
    "plant-changed": "Plant changed",
    "limits-changed": "Limits changed",
    "reference-changed": "Reference changed",
    "settings-changed": "Settings changed",
    "reading-amended": "Reading corrected",
    "reading-voided": "Reading taken out of use",
    "entry-settled": "Entry of a shift decided on",
    "shift-log-laid-out": "Shift log laid out",
    "import-stored": "Import brought in",
    "import-discarded": "Import put aside",
    "import-undone": "Import undone",
    "events-added": "Events written down",
    "event-amended": "Event corrected",
    "event-withdrawn": "Event withdrawn",
    "elements-changed": "Elements placed, moved or taken out",
    "vessels-measured": "Single vessels measured",
    "vessels-withdrawn": "Round of single vessels withdrawn",
    "analysis-added": "Feed analysis written down",
    "analysis-withdrawn": "Feed analysis withdrawn",
    "scaling-limits-changed": "Limits of the concentrate changed",
    "cleaning-recorded": "Cleaning recorded",
    "cleaning-amended": "Record of a cleaning corrected",
    "cleaning-voided": "Record of a cleaning taken out of use",
    "cleaning-photo-added": "Photo of a cleaning added",
    "cleaning-photo-voided": "Photo of a cleaning taken out of use",
    "cleaning-prices-changed": "Prices of cleanings changed",
    "person-added": "Person added",
    "person-changed": "Person changed",
    "password-changed": "Password changed",
    "link-made": "One-time link made",
    "role-changed": "Role changed",
    "token-added": "Token made",
    "token-revoked": "Token ended",
    "budget-changed": "Budget's assumptions changed",
    "spending-noted": "Order or replacement noted",
    "spending-withdrawn": "Order or replacement taken out",
    "plan-kept": "Budget kept as the plan",
}
"""What can happen to the record, with its words on a page. A feature with changes of its own adds its kinds here.

A new reading needs no entry: its row says who sent it and when.
"""


class AuditEntry(Base):
    """One change. `object_id` is the number of the reading, import, event or person that it is about.

    `before` and `after` are documents of only what changed; both are empty where words say it all.
    """

    __tablename__ = "audit"
    __table_args__ = (Index(None, "train_id", "id"), Index(None, "site_id", "id"))

    id: Mapped[int] = mapped_column(LargeId, primary_key=True)
    at: Mapped[datetime] = mapped_column(UtcTime, default=now)
    author: Mapped[str] = mapped_column(String(200))
    kind: Mapped[str] = mapped_column(String(40))
    site_id: Mapped[int | None] = mapped_column(ForeignKey("sites.id"))
    train_id: Mapped[int | None] = mapped_column(ForeignKey("trains.id"))
    object_id: Mapped[int | None] = mapped_column(BigInteger)
    before: Mapped[dict[str, Any] | None] = mapped_column(Json)
    after: Mapped[dict[str, Any] | None] = mapped_column(Json)
    reason: Mapped[str] = mapped_column(Text, default="")
