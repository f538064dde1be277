"""The journal: every change can be taken back, and had again, and nothing is taken back under a later one's feet."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from forking import Forked
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import Connection, Engine, func, select

from kinphoto.errors import ArchiveError, NotFoundError
from kinphoto.store import opening, session
from kinphoto.store import tables as t

Tables = dict[str, dict[int, dict[str, Any]]]
WATCHED = (t.container, t.photograph, t.region)


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Engine]:
    """A new archive's database."""
    made = opening.connect(opening.database_url(tmp_path))
    opening.create(made)
    yield made
    made.dispose()


def contents(connection: Connection) -> Tables:
    """The rows of the watched tables by id."""
    return {
        table.name: {row["id"]: dict(row) for row in connection.execute(select(table)).mappings()} for table in WATCHED
    }


def seen(engine: Engine) -> Tables:
    """The same, read in a transaction of its own."""
    with session.reading(engine) as connection:
        return contents(connection)


def take_back(engine: Engine, change_id: int) -> int:
    """Undo a change and return the id of the undo."""
    with session.working(engine, "taken back") as work:
        work.undo(change_id)
    assert work.id is not None
    return work.id


def add_box(engine: Engine, name: str, parent: int | None = None) -> tuple[int, int]:
    """A change that adds a container: its row and the change."""
    with session.working(engine, f"added {name}") as work:
        row = work.insert_one(t.container, name=name, parent_id=parent)
    assert work.id is not None
    return row, work.id


def rename_box(engine: Engine, row: int, name: str) -> int:
    """A change that renames a container."""
    with session.working(engine, f"renamed to {name}") as work:
        work.update(t.container, [row], name=name)
    assert work.id is not None
    return work.id


def test_an_insert_is_taken_back_and_had_again(engine: Engine) -> None:
    """Undo deletes the row, undo of the undo brings the same row with the same id, and so on."""
    _, change = add_box(engine, "Suitcase")
    after = seen(engine)
    undo = take_back(engine, change)
    assert seen(engine)["container"] == {}
    redo = take_back(engine, undo)
    assert seen(engine) == after
    take_back(engine, redo)
    assert seen(engine)["container"] == {}


def test_updates_and_deletes_are_taken_back(engine: Engine) -> None:
    """A change that renames one row and deletes another is undone as one."""
    one, _ = add_box(engine, "Suitcase")
    other, _ = add_box(engine, "Attic box")
    before = seen(engine)
    with session.working(engine, "tidied") as work:
        work.update(t.container, [one], name="Blue suitcase")
        work.update(t.container, [one], note="tidied twice")
        work.delete(t.container, [other])
    assert work.id is not None
    take_back(engine, work.id)
    assert seen(engine) == before


def test_rows_that_refer_to_each_other_come_back_in_any_order(engine: Engine) -> None:
    """A box that was put into one of a later id is deleted together with it, and both come back."""
    inner, _ = add_box(engine, "Envelope")
    outer, _ = add_box(engine, "Suitcase")
    with session.working(engine, "packed") as work:
        work.update(t.container, [inner], parent_id=outer)
    before = seen(engine)
    with session.working(engine, "threw both away") as work:
        work.delete(t.container, [inner, outer])
    assert work.id is not None
    take_back(engine, work.id)
    assert seen(engine) == before


def test_a_block_that_raises_changes_nothing(engine: Engine) -> None:
    """All or nothing: neither rows nor a line of the log remain."""

    def fail() -> None:
        with session.working(engine, "half done") as work:
            work.insert_one(t.container, name="Suitcase")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail()
    with session.reading(engine) as connection:
        assert contents(connection)["container"] == {}
        assert connection.scalar(select(func.count()).select_from(t.change)) == 0


def test_a_block_that_writes_nothing_leaves_no_line(engine: Engine) -> None:
    """Looking is no change."""
    with session.working(engine, "looked") as work:
        work.update(t.container, [], name="x")
    with session.reading(engine) as connection:
        assert connection.scalar(select(func.count()).select_from(t.change)) == 0


def test_no_change_is_undone_under_a_later_one(engine: Engine) -> None:
    """The refusal names the later change, and after that one is undone it works."""
    row, added = add_box(engine, "Suitcase")
    renamed = rename_box(engine, row, "Blue suitcase")
    with pytest.raises(ArchiveError, match=rf"renamed to Blue suitcase.*kinphoto undo {renamed}"):
        take_back(engine, added)
    take_back(engine, renamed)
    take_back(engine, added)
    assert seen(engine)["container"] == {}


def test_what_others_refer_to_is_not_taken_away(engine: Engine) -> None:
    """A box with a picture in it stays, though no later change touched the box itself; the refusal names the change
    that put the picture there, not a newer one of something else."""
    row, added = add_box(engine, "Suitcase")
    with session.working(engine, "indexed") as work:
        work.insert_one(t.photograph, code="K00001", container_id=row, indexed=738000)
    add_box(engine, "Attic")
    with pytest.raises(
        ArchiveError, match=rf"{added} cannot be undone before change {work.id} \(indexed\).*undo {work.id}\."
    ):
        take_back(engine, added)
    assert list(seen(engine)["container"]) == [row, row + 1]


def test_what_is_gone_since_is_needed_first(engine: Engine) -> None:
    """A picture that was removed cannot come back into a box that was thrown away after it."""
    row, _ = add_box(engine, "Suitcase")
    with session.working(engine, "indexed") as work:
        photograph = work.insert_one(t.photograph, code="K00001", container_id=row, indexed=738000)
    with session.working(engine, "removed K00001") as removed:
        removed.delete(t.photograph, [photograph])
    with session.working(engine, "thrown away") as thrown:
        thrown.delete(t.container, [row])
    assert removed.id is not None
    with pytest.raises(ArchiveError, match=rf"cannot be undone before change {thrown.id} \(thrown away\)"):
        take_back(engine, removed.id)


def test_a_name_that_somebody_else_has_now(engine: Engine) -> None:
    """An informant who was renamed cannot have the old name again while somebody new goes by it."""
    with session.working(engine, "Edda") as work:
        edda = work.insert_one(t.informant, name="Edda")
    with session.working(engine, "renamed") as renamed:
        renamed.update(t.informant, [edda], name="Edda Marsh")
    with session.working(engine, "another Edda") as other:
        other.insert_one(t.informant, name="Edda")
    assert renamed.id is not None
    with pytest.raises(ArchiveError, match=rf"before change {other.id} \(another Edda\)"):
        take_back(engine, renamed.id)


def test_an_undo_is_not_taken_back_over_later_changes(engine: Engine) -> None:
    """Having an old name again would overwrite the newer one."""
    row, _ = add_box(engine, "Suitcase")
    undo = take_back(engine, rename_box(engine, row, "Blue suitcase"))
    rename_box(engine, row, "Red suitcase")
    with pytest.raises(ArchiveError, match="Red suitcase"):
        take_back(engine, undo)


def test_taking_back_twice_is_refused(engine: Engine) -> None:
    """The message says how to have it again."""
    _, change = add_box(engine, "Suitcase")
    undo = take_back(engine, change)
    with pytest.raises(ArchiveError, match=rf"already.*kinphoto undo {undo}"):
        take_back(engine, change)


def test_a_change_that_never_was_is_not_found(engine: Engine) -> None:
    """With a hint at the log."""
    with pytest.raises(NotFoundError, match="kinphoto log"):
        take_back(engine, 99)


def test_no_id_is_used_twice(engine: Engine) -> None:
    """Ids go on counting after an undo, so an undo of that undo meets no stranger."""
    first, change = add_box(engine, "Suitcase")
    undo = take_back(engine, change)
    second, _ = add_box(engine, "Attic box")
    assert second > first
    take_back(engine, undo)
    assert sorted(seen(engine)["container"]) == [first, second]


def test_a_long_command_is_one_line_of_the_log(engine: Engine) -> None:
    """Work that commits as it goes can be undone as one."""
    with session.working(engine, "indexed") as work:
        work.insert_one(t.container, name="Suitcase")
    with session.working(engine, "indexed more", extends=work.id) as more:
        more.insert_one(t.container, name="Attic box")
    assert more.id == work.id
    assert work.id is not None
    take_back(engine, work.id)
    assert seen(engine)["container"] == {}


def test_rows_with_their_own_ids_and_unlike_keys_are_taken_back(engine: Engine) -> None:
    """Rows written together from reserved ids, gaps between them, are noted like any other."""
    with session.working(engine, "many") as work:
        ids = work.take("container", 5)
        work.insert_as(t.container, [{"id": ids[0], "name": "a"}, {"id": ids[3], "name": "b", "note": "old"}])
        work.insert_many(t.region, ["photograph_id", "left", "top", "width", "height"], [])
    assert sorted(seen(engine)["container"]) == [ids[0], ids[3]]
    assert work.id is not None
    take_back(engine, work.id)
    assert seen(engine)["container"] == {}


def test_two_processes_wait_for_each_other(engine: Engine) -> None:
    """Neither fails half way, and no number is given out twice."""
    engine.dispose()

    def count_up() -> None:
        own = opening.connect(engine.url)
        for _ in range(20):
            with session.working(own, "counted") as work:
                work.insert_one(t.container, name="box")

    workers = [Forked(count_up) for _ in range(2)]
    assert [worker.ended()[0] for worker in workers] == [0, 0]
    with session.reading(engine) as connection:
        assert connection.scalar(select(func.count()).select_from(t.container)) == 40
        assert connection.scalar(select(func.count()).select_from(t.change)) == 40


def test_nothing_is_taken_back_under_a_change_that_stands_again(engine: Engine) -> None:
    """A box is made and thrown away, both are taken back and had again: the making cannot be taken back alone."""
    box, made = add_box(engine, "box")
    with session.working(engine, "thrown away") as thrown:
        thrown.delete(t.container, [box])
    assert thrown.id is not None
    kept = take_back(engine, thrown.id)
    unmade = take_back(engine, made)
    made_again = take_back(engine, unmade)
    thrown_again = take_back(engine, kept)
    with pytest.raises(ArchiveError, match=f"undo {thrown_again}"):
        take_back(engine, made_again)
    take_back(engine, take_back(engine, thrown_again))  # the box is here, and gone again
    assert seen(engine)["container"] == {}


# Any sequence of changes and undos ------------------------------------------------------------------------------
#
# The model is a replay: whatever was done and taken back, the tables hold what the changes that still stand would make
# of empty tables, done one after the other. It shares no code with the journal.

Step = tuple[str, str, int, dict[str, Any]]  # insert, update or delete; table; id; values
words = st.text(alphabet="abcdé", max_size=4)
parts = st.floats(0, 1, allow_nan=False)


class Family:
    """An archive in memory, its changes as steps, and which of them stand."""

    def __init__(self) -> None:
        self.engine = opening.connect("sqlite://")
        opening.create(self.engine)
        self.steps: dict[int, list[Step]] = {}  # by change
        self.undoes: dict[int, int] = {}  # undo: what it took back
        self.undone: set[int] = set()

    def stands(self, change: int) -> bool:
        """Whether a change is in force."""
        return change not in self.undone

    def replayed(self) -> Tables:
        """What the standing changes make of empty tables."""
        made: Tables = {table.name: {} for table in WATCHED}
        for change in sorted(self.steps):
            for kind, table, id_, values in self.steps[change] if self.stands(change) else ():
                if kind == "insert":
                    made[table][id_] = dict(values)
                elif kind == "update":
                    made[table][id_].update(values)
                else:
                    del made[table][id_]
        return made

    def change(self, data: st.DataObject) -> None:
        """One change of one to four steps."""
        steps: list[Step] = []
        with session.working(self.engine, "a change") as work:
            for _ in range(data.draw(st.integers(1, 4))):
                self._step(data, work, steps)
        if work.id is not None:
            self.steps[work.id] = steps

    def undo(self, change: int) -> bool:
        """Take back a change or an undo; False when it is refused."""
        try:
            undo = take_back(self.engine, change)
        except ArchiveError:
            return False
        self.undoes[undo] = change
        self.undone.add(change)
        while (change := self.undoes.get(change, 0)) and change:
            self.undone ^= {change}
        return True

    def _step(self, data: st.DataObject, work: session.Work, steps: list[Step]) -> None:
        here = contents(work.connection)
        boxes, photos = sorted(here["container"]), sorted(here["photograph"])
        kind = data.draw(st.sampled_from(["insert", "insert", "update", "delete"]))
        table = data.draw(st.sampled_from(WATCHED if photos else WATCHED[:2]))
        values: dict[str, Any]
        if table is t.container:
            values = {"name": data.draw(words), "parent_id": data.draw(st.sampled_from([None, *boxes]))}
        elif table is t.photograph:
            values = {"title": data.draw(words), "container_id": data.draw(st.sampled_from([None, *boxes]))}
        else:
            values = {"photograph_id": data.draw(st.sampled_from(photos)), "left": data.draw(parts)}
        if kind == "insert":
            whole = values | {"code": f"K{work.take('photograph.code').start}", "indexed": 738000} if (
                table is t.photograph) else values | {"top": 0.5, "width": 0.1, "height": 0.1} if (
                table is t.region) else values  # fmt: skip
            id_ = work.insert_one(table, **whole)
            steps.append(("insert", table.name, id_, contents(work.connection)[table.name][id_]))
            return
        held = {r["parent_id"] for r in here["container"].values()} | {
            r["container_id"] for r in here["photograph"].values()
        }
        worn = {r["photograph_id"] for r in here["region"].values()}
        in_use = {"container": held, "photograph": worn, "region": set()}[table.name]
        free = [i for i in sorted(here[table.name]) if kind == "update" or i not in in_use]
        if not free:
            return
        id_ = data.draw(st.sampled_from(free))
        if kind == "update":
            work.update(table, [id_], **values)
        else:
            work.delete(table, [id_])
        steps.append((kind, table.name, id_, values))


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_the_tables_hold_what_the_standing_changes_make(data: st.DataObject) -> None:
    """Changes and undos in any order, undos of undos too: a refusal leaves all as it was, a success replays."""
    family = Family()
    for _ in range(data.draw(st.integers(1, 14))):
        known = [*family.steps, *family.undoes]
        if known and data.draw(st.booleans()):
            family.undo(data.draw(st.sampled_from(known)))
        else:
            family.change(data)
        assert seen(family.engine) == family.replayed()


@settings(max_examples=30, deadline=None)
@given(st.data())
def test_undoing_all_changes_restores_the_empty_archive_and_undoing_the_undos_brings_all_back(
    data: st.DataObject,
) -> None:
    """Newest to oldest all the way, and back again."""
    family = Family()
    for _ in range(data.draw(st.integers(1, 6))):
        family.change(data)
    full, changes = seen(family.engine), sorted(family.steps, reverse=True)
    assert all(family.undo(change) for change in changes)
    assert seen(family.engine) == {table.name: {} for table in WATCHED}
    assert all(family.undo(undo) for undo in sorted(family.undoes, reverse=True))
    assert seen(family.engine) == full
