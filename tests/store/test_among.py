"""Rows of very many ids asked for in one query."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import create_engine, select
from sqlalchemy.dialects import postgresql

from kinphoto.archive import Archive
from kinphoto.store import tables as t
from kinphoto.store.among import FEW, among


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Forty thousand containers, more than a query of SQLite may have parameters."""
    made = Archive.create(tmp_path / "archive")
    with made.working("many") as work:
        work.insert_many(t.container, ("name", "note"), [(f"it's {n}", "") for n in range(1, 40_001)])
    return made


@pytest.mark.parametrize("count", [0, 1, FEW, FEW + 1, 39_999])
def test_just_those_rows_are_found(archive: Archive, count: int) -> None:
    """However many there are, and by numbers as by texts with apostrophes in them."""
    c = t.container.c
    wanted = set(range(2, 2 + count))
    with archive.reading() as connection:
        assert set(connection.scalars(select(c.id).where(among(connection, c.id, wanted)))) == wanted
        names = {f"it's {n}" for n in wanted}
        assert set(connection.scalars(select(c.id).where(among(connection, c.name, names)))) == wanted


def test_the_same_question_can_be_put_to_another_database() -> None:
    """PostgreSQL takes the list apart with a function of its own (its handbook, chapter on JSON functions)."""
    engine = create_engine("sqlite://")
    with engine.connect() as connection:
        connection.dialect = postgresql.dialect()
        query = select(t.container.c.id).where(among(connection, t.container.c.id, range(FEW + 1)))
    assert "json_array_elements_text(CAST(" in str(query.compile(dialect=postgresql.dialect()))
