"""Sessions: kept as digests, ended by time, by sign-out and by a closed account."""

from datetime import timedelta

import pytest
from sqlalchemy import Engine, select, update

from server.accounts.actions import add_user, change_user, set_roles
from server.accounts.models import UserSession
from server.accounts.queries import user_or_404
from server.accounts.sessions import (
    IDLE,
    LONGEST,
    NOTED_EVERY,
    begin_session,
    end_secret,
    end_sessions,
    find_person,
    note_use,
    note_use_apart,
    open_sessions,
)
from server.db import now, transaction
from server.plants.models import Site


@pytest.fixture
def secret(engine: Engine) -> str:
    with transaction(engine) as session:
        session.add(Site(name="Quay Laundry", timezone="UTC"))
        user = add_user(session, "ana@example.org", name="Ana")
        set_roles(session, user, {1: "engineer"})
        return begin_session(session, user)


def change(engine: Engine, **values) -> None:
    with transaction(engine) as session:
        session.execute(update(UserSession).values(**values))


def found(engine: Engine, secret: str):
    with transaction(engine, writes=False) as session:
        return find_person(session, secret)


def test_the_person_of_a_session_is_found_with_the_roles(engine: Engine, secret: str) -> None:
    here = found(engine, secret)
    assert here is not None and not here.stale
    assert (here.person.name, here.person.roles, here.person.administrator) == ("Ana", {1: "engineer"}, False)
    assert found(engine, secret + "x") is None and found(engine, "") is None


def test_the_secret_itself_is_nowhere_in_the_database(engine: Engine, secret: str) -> None:
    with transaction(engine) as session:
        kept = session.scalars(select(UserSession)).one()
        assert secret not in repr(vars(kept))
        assert find_person(session, kept.digest) is None, "what is kept does not open anything"
    assert len(secret) >= 43, "256 bits in base 64"


@pytest.mark.parametrize(
    "values",
    [{"last_used_at": now() - IDLE}, {"expires_at": now()}],
    ids=["not used for long", "long ago"],
)
def test_a_session_ends_with_time(engine: Engine, secret: str, values: dict) -> None:
    change(engine, **values)
    assert found(engine, secret) is None


def test_a_session_lives_until_shortly_before(engine: Engine, secret: str) -> None:
    change(engine, last_used_at=now() - IDLE + timedelta(minutes=1), expires_at=now() + timedelta(minutes=1))
    here = found(engine, secret)
    assert here is not None and here.stale
    assert timedelta(hours=12) == IDLE and timedelta(days=14) == LONGEST


def test_its_use_is_written_down_once_in_a_while(engine: Engine, secret: str) -> None:
    for note in ("within", "apart"):
        change(engine, last_used_at=now() - NOTED_EVERY)
        here = found(engine, secret)
        assert here is not None and here.stale
        if note == "within":
            with transaction(engine) as session:
                note_use(session, here.person.session_id)
        else:
            note_use_apart(engine, here.person.session_id)
        again = found(engine, secret)
        assert again is not None and not again.stale


def test_one_or_all_sessions_are_ended(engine: Engine, secret: str) -> None:
    with transaction(engine) as session:
        here = find_person(session, secret)
        assert here is not None
        user = add_user(session, "ben@example.org")
        others = [begin_session(session, user) for _ in range(2)]
        end_secret(session, others[0])
        assert [find_person(session, one) is None for one in (secret, *others)] == [False, True, False]
        assert len(open_sessions(session, user.id)) == 1
        end_sessions(session, user.id)
        assert [find_person(session, one) is None for one in (secret, *others)] == [False, True, True]


def test_a_closed_account_is_out_at_once(engine: Engine, secret: str) -> None:
    with transaction(engine) as session:
        here = find_person(session, secret)
        assert here is not None
        change_user(session, user_or_404(session, here.person.id), name="Ana", administrator=False, disabled=True)
    assert found(engine, secret) is None


def test_sessions_that_have_run_out_are_swept_at_the_next_sign_in(engine: Engine, secret: str) -> None:
    change(engine, expires_at=now() - timedelta(days=1))
    with transaction(engine) as session:
        begin_session(session, add_user(session, "ben@example.org"))
        assert len(session.scalars(select(UserSession)).all()) == 1
