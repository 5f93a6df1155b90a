"""People, links and tokens in the records, on both engines."""

from datetime import timedelta

import pytest
from sqlalchemy import Engine, select, update

from server.accounts.actions import (
    GOOD_FOR,
    INVITATION,
    RESET,
    add_token,
    add_user,
    change_user,
    email_problem,
    new_link,
    note_token_use,
    note_token_use_apart,
    revoke_token,
    set_password,
    set_roles,
    use_link,
)
from server.accounts.models import ApiToken, OneTimeLink, SiteRole
from server.accounts.queries import find_machine, good_link, list_tokens, roles_of
from server.accounts.sessions import begin_session, find_person
from server.audit.models import AuditEntry
from server.db import now, transaction
from server.errors import Conflict, NotFound
from server.plants.models import Site


@pytest.fixture
def sites(engine: Engine) -> list[int]:
    with transaction(engine) as session:
        found = [Site(name=name, timezone="UTC") for name in ("Quay Laundry", "Weir Mill")]
        session.add_all(found)
        session.flush()
        return [site.id for site in found]


@pytest.mark.parametrize(
    "email", ["", "ana", "@", "ana@", "@example.org", "a b@c", "a@b\nc", "x@" + "y" * 260, "a,b@c"]
)
def test_what_is_no_address_is_refused(email: str) -> None:
    assert email_problem(email)


def test_an_address_is_somebody_once_whatever_its_capitals(engine: Engine) -> None:
    with transaction(engine) as session:
        assert add_user(session, " Ana@Example.org ").email == "ana@example.org"
        with pytest.raises(Conflict, match="somebody already"):
            add_user(session, "ANA@example.ORG")


def test_roles_are_given_changed_taken_and_written_into_the_record(engine: Engine, sites: list[int]) -> None:
    with transaction(engine) as session:
        user = add_user(session, "ana@example.org")
        set_roles(session, user, {sites[0]: "operator", sites[1]: "manager", 999: "engineer"})
        assert roles_of(session, user.id) == {sites[0]: "operator", sites[1]: "manager"}
        set_roles(session, user, {sites[0]: "engineer", sites[1]: ""})
        set_roles(session, user, {sites[0]: "king"})
        assert roles_of(session, user.id) == {sites[0]: "engineer"}
        assert session.scalars(select(SiteRole.role)).all() == ["engineer"]
        noted = session.scalars(select(AuditEntry).where(AuditEntry.kind == "role-changed")).all()
        assert [(entry.before["role"], entry.after["role"]) for entry in noted] == [
            ("", "operator"), ("", "manager"), ("operator", "engineer"), ("manager", ""),
        ]  # fmt: skip


def test_no_secret_stands_in_the_record(engine: Engine, sites: list[int]) -> None:
    with transaction(engine) as session:
        user = add_user(session, "ana@example.org")
        secrets = [new_link(session, user, INVITATION)]
        secrets.append(add_token(session, sites[0], "box", may_read=True, may_write=False, author="Ana"))
        set_password(session, user, "$argon2id$not-a-real-hash")
        noted = session.scalars(select(AuditEntry)).all()
        text = repr([vars(entry) for entry in noted])
        assert len(noted) == 4 and not any(secret in text for secret in [*secrets, "argon2id"])


def test_a_link_works_once_and_the_newest_only(engine: Engine) -> None:
    with transaction(engine) as session:
        user = add_user(session, "ana@example.org")
        first, second = new_link(session, user, INVITATION), new_link(session, user, RESET)
        assert good_link(session, first) is None
        found = good_link(session, second)
        assert found is not None and found[1].email == "ana@example.org"
        use_link(session, found[0])
        assert good_link(session, second) is None
        with pytest.raises(NotFound, match="already"):
            use_link(session, found[0])


def test_a_link_runs_out(engine: Engine) -> None:
    assert {INVITATION: timedelta(days=7), RESET: timedelta(hours=2)} == GOOD_FOR
    with transaction(engine) as session:
        secret = new_link(session, add_user(session, "ana@example.org"), RESET)
        session.execute(update(OneTimeLink).values(expires_at=now()))
        assert good_link(session, secret) is None


def test_a_new_password_ends_sessions_and_links(engine: Engine) -> None:
    with transaction(engine) as session:
        user = add_user(session, "ana@example.org")
        secret, link = begin_session(session, user), new_link(session, user, RESET)
        set_password(session, user, "hash")
        assert find_person(session, secret) is None and good_link(session, link) is None


def test_a_closed_account_has_no_links(engine: Engine) -> None:
    with transaction(engine) as session:
        user = add_user(session, "ana@example.org")
        link = new_link(session, user, INVITATION)
        change_user(session, user, name="", administrator=True, disabled=True)
        assert good_link(session, link) is None
        assert (user.name, user.administrator) == ("ana", True), "an empty name changes nothing"
        change_user(session, user, name="Ana", administrator=False, disabled=False)
        assert user.disabled_at is None


def test_a_token_opens_its_site_until_it_is_ended(engine: Engine, sites: list[int]) -> None:
    with transaction(engine) as session:
        secret = add_token(session, sites[1], "box", may_read=False, may_write=True, author="Ana")
        kept = session.scalars(select(ApiToken)).one()
        assert secret.startswith("skb_") and secret not in repr(vars(kept))
        machine = find_machine(session, secret)
        assert machine is not None
        assert (machine.site_id, machine.may_read, machine.may_write) == (sites[1], False, True)
        with pytest.raises(NotFound):
            revoke_token(session, sites[0], kept.id)
        revoke_token(session, sites[1], kept.id)
        revoke_token(session, sites[1], kept.id)
        assert find_machine(session, secret) is None
        assert len(list_tokens(session, sites[1])) == 1 and list_tokens(session, sites[0]) == []


def test_the_last_use_of_a_token_is_known_to_the_minute(engine: Engine, sites: list[int]) -> None:
    with transaction(engine) as session:
        secret = add_token(session, sites[0], "box", may_read=True, may_write=False, author="Ana")
    for apart in (False, True):
        with transaction(engine) as session:
            session.execute(update(ApiToken).values(last_used_at=now() - timedelta(minutes=2)))
            machine = find_machine(session, secret)
            assert machine is not None and not machine.used_lately
            if not apart:
                note_token_use(session, machine.id)
        if apart:
            note_token_use_apart(engine, machine.id)
        with transaction(engine, writes=False) as session:
            machine = find_machine(session, secret)
            assert machine is not None and machine.used_lately
