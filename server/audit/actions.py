"""Write into the record. The actions that change something call this in the same transaction."""

from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from server.audit.author import writer
from server.audit.models import KINDS, AuditEntry
from server.plants.models import Train


def record(
    session: Session,
    kind: str,
    *,
    train_id: int | None = None,
    site_id: int | None = None,
    object_id: int | None = None,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
    reason: str = "",
    author: str = "",
) -> AuditEntry:
    """Note one change; it stands when the transaction does.

    Parameters
    ----------
    kind
        One of `server.audit.models.KINDS`.
    site_id
        May be left out where `train_id` is given.
    before, after
        Only what changed, as plain documents.
    author
        Who; left out, it is whoever makes the request, or the user of the command line.
    """
    if kind not in KINDS:
        raise ValueError(f"{kind} is not one of {', '.join(KINDS)}")
    if train_id is not None and site_id is None:
        site_id = session.scalar(select(Train.site_id).where(Train.id == train_id))
    entry = AuditEntry(
        author=writer(session, author),
        kind=kind,
        site_id=site_id,
        train_id=train_id,
        object_id=object_id,
        before=dict(before) if before is not None else None,
        after=dict(after) if after is not None else None,
        reason=reason.strip(),
    )
    session.add(entry)
    session.flush()
    return entry


def changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Only what differs between two documents, before and after; what one of them lacks is None there.

    Examples
    --------
    >>> changes({"a": 1, "b": 2}, {"a": 1, "b": 3, "c": 4})
    ({'b': 2, 'c': None}, {'b': 3, 'c': 4})
    """
    names = [name for name in {**before, **after} if before.get(name) != after.get(name)]
    return {name: before.get(name) for name in names}, {name: after.get(name) for name in names}
