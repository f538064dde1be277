"""Importing a family tree: the first time, and again when it has grown.

The file is read record by record and written in batches, in one transaction. Where the archive holds a tree already,
the file is read twice: first to decide who is who (`tree_matching`), then to write what is different. Memory holds
the pointers and who belongs to which family, nothing else of the file.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Container, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import chain, count
from pathlib import Path

from sqlalchemy import Connection, Table, exists, or_, select

from kinphoto.archive import tree_matching, tree_rows
from kinphoto.archive.folding import fold
from kinphoto.archive.tree_families import Families
from kinphoto.reason.span import Span
from kinphoto.store import tables as t
from kinphoto.store.session import Work
from kinphoto.tree import decode, read
from kinphoto.tree.loops import loops
from kinphoto.tree.records import Warnings

Progress = Callable[[int, int], None]
"""Called with the bytes read so far and the bytes there are to read."""


@dataclass(frozen=True, slots=True)
class TreeImported:
    """What an import did.

    The first three count what the file holds, the next four people of the archive; one is changed also when they
    have other parents, partners or dates of marriage. `warnings` are (line, text), line 0 for what has no one place,
    at most some thousands of the `warning_count`. `altered` is False when the archive is as it was.
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


@dataclass(frozen=True, slots=True)
class _Plan:
    """Who is who: codes of the file to ids of the archive; all codes of the file; and who is in it no longer."""

    people: dict[str, int] = field(default_factory=dict)
    families: dict[str, int] = field(default_factory=dict)
    codes: frozenset[str] = frozenset()
    family_codes: frozenset[str] = frozenset()
    gone: tuple[int, ...] = ()
    gone_families: tuple[int, ...] = ()


def import_tree(work: Work, path: Path, progress: Progress | None = None) -> TreeImported:
    """Bring the archive's tree up to the file at `path`.

    Raises NotFoundError, or UnreadableFileError when the file is no GEDCOM. The same file again changes nothing and
    leaves no line in the log.
    """
    with _no_collection():
        return _import(work, decode.examine(path), progress)


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
    reading = _Reading(source, _outside(work.connection), progress, passes=2 if again else 1)
    plan = _plan(work.connection, reading) if again else _Plan()
    kept = _Leaving(work, plan).carry_out() if again else frozenset()
    done = _Writing(work, plan, reading, again)
    done.carry_out()
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
        warnings=tuple(sorted(warnings.kept)),
        warning_count=warnings.count,
        encoding=source.encoding,
        version=done.version,
        altered=work.id is not None,
    )


class _Reading:
    """The file, as often as it is read, each record with the code it goes by in the archive.

    That is its pointer, unless somebody outside the tree has that code or an earlier record of the file.
    """

    def __init__(self, source: decode.Source, taken: set[str], progress: Progress | None, passes: int) -> None:
        self.source = source
        self.warnings = Warnings()
        self._taken = taken
        self._progress = progress
        self._behind, self._total = 0, source.size * passes

    def records(self) -> Iterator[tuple[read.Header | read.Person | read.Family, str]]:
        """All of them, in order. `warnings` are those of the newest reading."""
        self.warnings = Warnings()
        people, families = set(self._taken), set[str]()
        for record in read.read_tree(self.source, self.warnings, self._passed):
            if isinstance(record, read.Header):
                yield record, ""
                continue
            used = people if isinstance(record, read.Person) else families
            code = _free(record.code, used)
            if code != record.code:
                self.warnings(record.line, f"@{record.code}@ is in use already; this record goes by {code}")
            used.add(code)
            yield record, code

    def _passed(self, count: int) -> None:
        self._behind += count
        if self._progress is not None:
            self._progress(min(self._behind, self._total), self._total)


def _free(code: str, used: Container[str]) -> str:
    """The code itself, or with the first number behind it that makes it one nobody has."""
    return next(each for each in chain([code], (f"{code}-{n}" for n in count(2))) if each not in used)


def _outside(connection: Connection) -> set[str]:
    """The codes of people outside the tree."""
    return set(connection.scalars(select(t.person.c.code).where(t.person.c.outside == 1)))


def _plan(connection: Connection, reading: _Reading) -> _Plan:
    """Read the file for who is in it, and compare with who is in the archive."""
    now: list[tree_matching.Known] = []
    pointers: dict[str, str] = {}
    families: list[tuple[read.Family, str]] = []
    for record, code in reading.records():
        if isinstance(record, read.Person):
            now.append(_known(record, code))
            pointers.setdefault(record.code, code)
        elif isinstance(record, read.Family):
            families.append((record, code))
    before = _known_people(connection)
    people = tree_matching.match_people(before, now)
    members = {pointer: people[code] for pointer, code in pointers.items() if code in people}
    groups = _known_families(connection)
    matched = tree_matching.match_families(groups, [_group(family, code, members) for family, code in families])
    return _Plan(
        people,
        matched,
        frozenset(known.code for known in now),
        frozenset(code for _, code in families),
        tuple(sorted(before.keys() - set(people.values()))),
        tuple(sorted(groups.keys() - set(matched.values()))),
    )


def _known(person: read.Person, code: str) -> tree_matching.Known:
    born = next((e.date.span for e in person.events if e.tag == "BIRT" and e.date.span != Span()), Span())
    return tree_matching.Known(code, person.uid, fold(person.names[0].text) if person.names else "", born)


def _group(family: read.Family, code: str, people: dict[str, int]) -> tree_matching.Group:
    """A family by those of its people who are known already; -1 stands for somebody new."""
    partners = frozenset(people.get(pointer, -1) for pointer, _ in family.partners)
    children = frozenset(people[child.code] for child in family.children if child.code in people)
    return tree_matching.Group(code, partners, children)


def _known_people(connection: Connection) -> dict[int, tree_matching.Known]:
    """The people of the archive's tree, the gone ones included: they may come back."""
    e, p, n = t.event.c, t.person.c, t.name.c
    born: dict[int, Span] = {}
    births = select(e.person_id, e.first, e.last).where(e.tag == "BIRT", or_(e.first.is_not(None), e.last.is_not(None)))
    for row in connection.execute(births.where(e.person_id.is_not(None)).order_by(e.position)):
        born.setdefault(row.person_id, Span(row.first, row.last))
    names = connection.execute(select(n.person_id, n.folded).where(n.position == 0))
    folded = {row.person_id: row.folded for row in names}
    rows = connection.execute(select(p.id, p.code, p.uid).where(p.outside == 0))
    return {
        id_: tree_matching.Known(code, uid or "", folded.get(id_, ""), born.get(id_, Span())) for id_, code, uid in rows
    }


def _known_families(connection: Connection) -> dict[int, tree_matching.Group]:
    partners: dict[int, set[int]] = {}
    children: dict[int, set[int]] = {}
    for family_id, person_id in connection.execute(select(t.partner.c.family_id, t.partner.c.person_id)):
        partners.setdefault(family_id, set()).add(person_id)
    links = select(t.parent_link.c.family_id, t.parent_link.c.child_id).where(t.parent_link.c.family_id.is_not(None))
    for family_id, child_id in connection.execute(links):
        children.setdefault(family_id, set()).add(child_id)
    return {
        id_: tree_matching.Group(code, frozenset(partners.get(id_, ())), frozenset(children.get(id_, ())))
        for id_, code in connection.execute(select(t.family.c.id, t.family.c.code))
    }


class _Leaving:
    """People and families that are in the file no longer. Nobody with a picture is lost: they stay, marked as gone."""

    def __init__(self, work: Work, plan: _Plan) -> None:
        self.work = work
        self.plan = plan
        self.connection = work.connection

    def carry_out(self) -> frozenset[int]:
        """Remove or mark them, and make way for codes that now mean somebody else; returns which people stay."""
        staying = frozenset(self.plan.gone) & self._rested_on()
        families = frozenset(self.plan.gone_families) & self._shown_families()
        self._remove_families(sorted(set(self.plan.gone_families) - families))
        self._remove_people(sorted(set(self.plan.gone) - staying))
        self._mark(t.person, staying)
        self._mark(t.family, families)
        self._make_way(t.person, self.plan.people, self.plan.codes)
        self._make_way(t.family, self.plan.families, self.plan.family_codes)
        return staying

    def _rested_on(self) -> set[int]:
        """People whom something else names: a picture, an informant, somebody outside the tree who is the same."""
        columns = (t.appearance.c.person_id, t.informant.c.person_id, t.person.c.same_as_id)
        return {id_ for column in columns for id_ in self.connection.scalars(select(column).distinct()) if id_}

    def _shown_families(self) -> set[int]:
        """Families one of whose events a photograph is said to show (`F3:MARR`)."""
        c = t.statement.c
        shown = {value.partition(":")[0] for value in self.connection.scalars(select(c.value).where(c.kind == "event"))}
        families = self.connection.execute(select(t.family.c.id, t.family.c.code))
        return {id_ for id_, code in families if code in shown}

    def _remove_families(self, ids: list[int]) -> None:
        for table in (t.partner, t.parent_link, t.event):
            tree_rows.remove(self.work, table, "family_id", ids)
        tree_rows.remove(self.work, t.family, "id", ids)

    def _remove_people(self, ids: list[int]) -> None:
        for table, column in (
            (t.partner, "person_id"), (t.parent_link, "child_id"), (t.parent_link, "parent_id"), (t.event, "person_id"),
            (t.name, "person_id"), (t.person, "id"),
        ):  # fmt: skip
            tree_rows.remove(self.work, table, column, ids)

    def _mark(self, table: Table, ids: Iterable[int]) -> None:
        here = set(self.connection.scalars(select(table.c.id).where(table.c.gone == 0)))
        self.work.update(table, sorted(here.intersection(ids)), gone=1)

    def _make_way(self, table: Table, matched: dict[str, int], codes: frozenset[str]) -> None:
        """Codes are unique. Whoever has one that the file gives to somebody else takes another before that is
        written: for good when they are gone, until their own turn comes otherwise."""
        rows = self.connection.execute(select(table.c.id, table.c.code)).all()
        used = codes | {code for _, code in rows}
        turn_comes = set(matched.values())
        for id_, code in rows:
            if code in codes and matched.get(code) != id_ and not self._is_outside(table, id_):
                self.work.update(table, [id_], code=_free(f"{code}-gone", used) if id_ not in turn_comes else f"~{id_}")

    def _is_outside(self, table: Table, id_: int) -> bool:
        if table is not t.person:
            return False
        return bool(self.connection.scalar(select(t.person.c.outside).where(t.person.c.id == id_)))


class _Writing:
    """The second reading: everything in the file, written in batches; then who belongs to whom."""

    def __init__(self, work: Work, plan: _Plan, reading: _Reading, again: bool) -> None:
        self.work = work
        self.plan = plan
        self.reading = reading
        self.again = again
        self.version = ""
        self.people = self.families = self.events = self.added = 0
        self.changed: set[int] = set()
        self._touched: set[int] = set()  # families known before that have other events now
        self._new: set[int] = set()  # people; only kept when there were some before

    def carry_out(self) -> None:
        """Write it all."""
        records = self.reading.records()
        collected: Families | None = None
        for batch in tree_rows.in_batches(records):
            collected = collected or Families(self.reading.warnings)
            self._write_people([(r, code) for r, code in batch if isinstance(r, read.Person)], collected)
            self._write_families([(r, code) for r, code in batch if isinstance(r, read.Family)], collected)
            self.version = next((r.version for r, _ in batch if isinstance(r, read.Header)), self.version)
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
            collected.add_person(person, fresh.get(code) or self.plan.people[code])
        self.people += len(people)
        self.added += len(new)
        self.events += sum(len(person.events) for person, _ in people)

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
        for batch in tree_rows.in_batches(collected.members()):
            changed = tree_rows.write_members(self.work, batch, self.again)
            changed.update(who for members in batch if members.family_id in self._touched for who in members.partners)
            self.changed |= changed - self._new
            links += [(child, parent) for members in batch for child, parent, _ in members.links]
        for loop in loops(links):
            self._warn_of_loop(loop)

    def _warn_of_loop(self, loop: list[int]) -> None:
        p = t.person.c
        shown = loop[:8]
        rows = self.work.connection.execute(select(p.id, p.code, p.name).where(p.id.in_(shown)))
        people = {id_: f"{name or 'somebody'} ({code})" for id_, code, name in rows}
        way = " → ".join(people[id_] for id_ in [*shown, *([] if len(loop) > len(shown) else shown[:1])])
        self.reading.warnings(0, f"a loop of ancestry, each the child of the next: {way}")


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
