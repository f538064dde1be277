"""Importing a family tree: the first time, and again when it has grown.

The file is read record by record and written in batches, in one transaction. Where the archive holds a tree already,
the file is read twice: first to decide who is who (`tree_matching`), then to write what is different. Memory holds
the pointers, who belongs to which family, and the notes that people share, nothing else of the file.
"""

from __future__ import annotations

import gc
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from operator import itemgetter
from pathlib import Path

from sqlalchemy import Connection, exists, select

from kinphoto.archive import tree_copies, tree_rows
from kinphoto.archive.tree_families import Families
from kinphoto.archive.tree_leaving import EventsShown, leave
from kinphoto.archive.tree_plan import Plan, make_plan
from kinphoto.archive.tree_reading import Progress, Reading
from kinphoto.archive.tree_withdrawn import StayWithdrawn
from kinphoto.store import tables as t
from kinphoto.store.session import Work
from kinphoto.tree import decode, read
from kinphoto.tree.loops import loops


@dataclass(frozen=True, slots=True)
class TreeImported:
    """What an import did.

    The first three count what the file holds, the next four people of the archive; one is changed also when they
    have other parents, partners or dates of marriage. `warnings` are (line, text) in the order of the lines, line 0
    for what has no one place, at most some thousands of the `warning_count`. `altered` is False when the archive is as
    it was.
    """

    people: int
    families: int
    events: int
    added: int
    changed: int
    removed: int
    kept_with_pictures: int
    warnings: tuple[tuple[int, str], ...]
    warning_count: int
    encoding: str
    version: str
    altered: bool


def import_tree(work: Work, folder: Path, path: Path, progress: Progress | None = None) -> TreeImported:
    """Bring the tree of the archive in `folder` up to the file at `path`, of which a copy is kept there.

    Raises NotFoundError, or UnreadableFileError when the file is no GEDCOM. The same file again changes nothing and
    leaves no line in the log.
    """
    source = decode.examine(path)
    tree_copies.keep(folder, source)
    with _no_collection():
        return _import(work, source, progress)


@contextmanager
def _no_collection() -> Iterator[None]:
    """Keep the collector of cycles out.

    What an import holds on to only grows, and none of it is garbage: the records are taken apart as they pass.
    Looking for some there, again and again, took a third of the time.
    """
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if enabled:
            gc.enable()


def _import(work: Work, source: decode.Source, progress: Progress | None) -> TreeImported:
    again = bool(
        work.connection.scalar(select(exists().where(t.person.c.outside == 0)))
        or work.connection.scalar(select(exists().where(t.family.c.id > 0)))
    )
    reading = Reading(source, _outside(work.connection), progress, passes=2 if again else 1)
    plan = make_plan(work.connection, reading.records()) if again else Plan()
    shown, withdrawn = EventsShown(work), StayWithdrawn(work)
    kept = leave(work, plan, shown) if again else frozenset()
    done = _Writing(work, plan, reading, again)
    done.carry_out()
    shown.follow()
    withdrawn.follow(reading.warnings)
    _note_file(work, source, done.version)
    work.what = (
        f"imported the tree {source.path.name}: {done.added} people added, {len(done.changed)} changed, "
        f"{len(plan.gone) - len(kept)} removed"
    )
    warnings = reading.warnings
    return TreeImported(
        people=done.people,
        families=done.families,
        events=done.events,
        added=done.added,
        changed=len(done.changed),
        removed=len(plan.gone) - len(kept),
        kept_with_pictures=len(kept),
        warnings=tuple(sorted(warnings.kept, key=itemgetter(0))),
        warning_count=warnings.count,
        encoding=source.encoding,
        version=done.version,
        altered=work.id is not None,
    )


def _outside(connection: Connection) -> set[str]:
    """The codes of people outside the tree."""
    return set(connection.scalars(select(t.person.c.code).where(t.person.c.outside == 1)))


class _Writing:
    """The second reading: everything in the file, written in batches; then who belongs to whom."""

    def __init__(self, work: Work, plan: Plan, reading: Reading, again: bool) -> None:
        self.work = work
        self.plan = plan
        self.reading = reading
        self.again = again
        self.version = ""
        self.people = self.families = self.events = self.added = 0
        self.changed: set[int] = set()
        self._touched: set[int] = set()  # families known before that have other events now
        self._new: set[int] = set()  # people; only kept when there were some before
        self._to_note: list[tuple[int, read.Person]] = []  # who point to notes that had not come yet

    def carry_out(self) -> None:
        """Write it all."""
        records = self.reading.records()
        collected: Families | None = None
        for batch in tree_rows.in_batches(records):
            collected = collected or Families(self.reading.warnings)
            self._write_people([(r, code) for r, code in batch if isinstance(r, read.Person)], collected)
            self._write_families([(r, code) for r, code in batch if isinstance(r, read.Family)], collected)
            self.version = next((r.version for r, _ in batch if isinstance(r, read.Header)), self.version)
        self._write_late_notes()
        if collected is not None:
            self._write_members(collected)

    def _write_people(self, people: list[tuple[read.Person, str]], collected: Families) -> None:
        new = [each for each in people if each[1] not in self.plan.people]
        known = {self.plan.people[code]: (person, code) for person, code in people if code in self.plan.people}
        ids = tree_rows.add_people(self.work, new)
        self.changed |= tree_rows.revise_people(self.work, known) if known else set()
        self._new |= set(ids) if self.again else set()
        fresh = {code: id_ for id_, (_, code) in zip(ids, new, strict=True)}
        for person, code in people:
            id_ = fresh.get(code) or self.plan.people[code]
            collected.add_person(person, id_)
            if person.shared:
                self._to_note.append((id_, person))
        self.people += len(people)
        self.added += len(new)
        self.events += sum(len(person.events) for person, _ in people)

    def _write_late_notes(self) -> None:
        """Write the notes that stand in the file behind those who point to them."""
        for _, person in self._to_note:
            for code in person.shared:
                if code not in self.reading.notes:
                    self.reading.warnings(person.line, f"this person has the note @{code}@, which is not in the file")
        notes = [{"id": id_, "note": self.reading.note(person)} for id_, person in self._to_note]
        for batch in tree_rows.in_batches(notes):
            self.changed |= tree_rows.rewrite_people(self.work, batch) - self._new

    def _write_families(self, families: list[tuple[read.Family, str]], collected: Families) -> None:
        new = [each for each in families if each[1] not in self.plan.families]
        known = {self.plan.families[code]: (family, code) for family, code in families if code in self.plan.families}
        ids = tree_rows.add_families(self.work, new)
        self._touched |= tree_rows.revise_families(self.work, known) if known else set()
        fresh = {code: id_ for id_, (_, code) in zip(ids, new, strict=True)}
        for family, code in families:
            collected.add_family(family, fresh.get(code) or self.plan.families[code])
        self.families += len(families)
        self.events += sum(len(family.events) for family, _ in families)

    def _write_members(self, collected: Families) -> None:
        links: list[tuple[int, int]] = []
        births: Counter[int] = Counter()
        for batch in tree_rows.in_batches(collected.members()):
            changed = tree_rows.write_members(self.work, batch, self.again)
            changed.update(who for members in batch if members.family_id in self._touched for who in members.partners)
            self.changed |= changed - self._new
            links += [(child, parent) for members in batch for child, parent, _ in members.links]
            births.update(child for members in batch for child, _, pedigree in members.links if pedigree == "birth")
        for loop in loops(links):
            self._warn_of_loop(loop)
        for child in sorted(child for child, count in births.items() if count > 2):
            self._warn_of_parents(child)

    def _warn_of_parents(self, child: int) -> None:
        c = t.parent_link.c
        by_birth = select(c.parent_id).where(c.child_id == child, c.pedigree == "birth", c.withdrawn == 0)
        parents = sorted(set(self.work.connection.scalars(by_birth)))
        if len(parents) > 2:
            people = self._called([child, *parents[:8]])
            self.reading.warnings(
                0,
                f"{people[child]} is the child by birth of {len(parents)} people, "
                f"{', '.join(people[parent] for parent in parents[:8])}; say in the tree who adopted them",
            )

    def _warn_of_loop(self, loop: list[int]) -> None:
        shown = loop[:8]
        people = self._called(shown)
        way = " → ".join(people[id_] for id_ in [*shown, *([] if len(loop) > len(shown) else shown[:1])])
        self.reading.warnings(0, f"a loop of ancestry, each the child of the next: {way}; mend it in the tree")

    def _called(self, ids: list[int]) -> dict[int, str]:
        p = t.person.c
        rows = self.work.connection.execute(select(p.id, p.code, p.name).where(p.id.in_(ids)))
        return {id_: f"{name or 'somebody'} ({code})" for id_, code, name in rows}


def _note_file(work: Work, source: decode.Source, version: str) -> None:
    """Note which file this was, unless it is the one that was imported last and nothing has changed."""
    c = t.tree_file.c
    newest = work.connection.scalar(select(c.sha256).order_by(c.id.desc()).limit(1))
    if newest != source.sha256 or work.id is not None:
        work.insert_one(
            t.tree_file,
            path=str(source.path.absolute()),
            sha256=source.sha256,
            encoding=source.encoding,
            version=version,
            imported_at=work.at,
        )
