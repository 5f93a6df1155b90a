"""The bytes of a file come back as they came, whatever their length, and outlive a change of the schema both ways."""

import hashlib

import pytest
from alembic import command
from sqlalchemy import Engine, func, select, text

from server.db import transaction
from server.errors import NotFound
from server.intake.contents import PART_BYTES, content_size, import_content, keep_content
from server.intake.models import Import, ImportPart
from server.keeping.check import check_records
from server.plants.actions import add_plant
from server.schema import alembic_config, migrate
from tests.benchmarks.test_standard_method_speed import PLANT

PIECE = bytes(range(256)) * 4_000
BEFORE = "5b8e20d4a7c6"
"""The revision in which the bytes lay in the row of their import."""


def kept(engine: Engine, content: bytes) -> int:
    with transaction(engine) as session:
        train = add_plant(session, PLANT)
        digest = hashlib.sha256(content).hexdigest()
        found = Import(train_id=train.id, file_name="log.csv", sha256=digest)
        session.add(found)
        session.flush()
        keep_content(session, found.id, content)
        return found.id


@pytest.mark.parametrize("size", [0, 1, PART_BYTES - 1, PART_BYTES, PART_BYTES + 1])
def test_a_file_comes_back_as_it_came(engine: Engine, size: int) -> None:
    number = kept(engine, PIECE[:size])
    with transaction(engine, writes=False) as session:
        assert import_content(session, number) == PIECE[:size]
        assert content_size(session, number) == size
        with pytest.raises(NotFound):
            import_content(session, number + 1)


def test_files_outlive_a_change_of_the_schema_both_ways(engine: Engine) -> None:
    content = PIECE + PIECE[:77_777]
    number = kept(engine, content)
    with engine.begin() as connection:
        command.downgrade(alembic_config(connection), BEFORE)
        assert bytes(connection.scalar(text("SELECT content FROM imports")) or b"") == content
    assert migrate(engine) is True
    with transaction(engine, writes=False) as session:
        assert import_content(session, number) == content
        assert session.scalar(select(func.count()).select_from(ImportPart)) == 2
    assert check_records(engine).problems == ()
