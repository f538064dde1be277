"""Writing a tree file into the archive: its records in batches, then who belongs to whom."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable

from sqlalchemy import select

from kinphoto.archive.tree import rows as tree_rows
from kinphoto.archive.tree.families import Families
from kinphoto.archive.tree.plan import Plan
from kinphoto.archive.tree.reading import TreeReading
from kinphoto.gedcom import read
from kinphoto.gedcom.loops import find_loops
from kinphoto.store import tables as t
from kinphoto.store.session import Work


class Storing:
    """The last reading of a file. `changed` are the people who were in the archive before, with what has changed:
    "person" (sex, note, pointer ...), "names", "events" or "family"."""

    def __init__(self, work: Work, plan: Plan, reading: TreeReading, again: bool) -> None:
        self.work = work
        self.plan = plan
        self.reading = reading
        self.again = again
        self.version = ""
        self.people = self.families = self.events = self.added = 0
        self.changed: dict[int, set[str]] = defaultdict(set)
        self._touched: set[int] = set()  # existing families whose events have changed
        self._gone = frozenset(plan.gone)
        self.new: set[int] = set()  # people; only when there were some before
        self._to_note: list[tuple[int, read.PersonRecord]] = []  # people who point to notes not read yet

    def carry_out(self) -> None:
        """Write everything."""
        records = self.reading.records()
        collected: Families | None = None
        for batch in tree_rows.in_batches(records):
            collected = collected or Families(self.reading.warnings)
            self._write_people([(r, code) for r, code in batch if isinstance(r, read.PersonRecord)], collected)
            self._write_families([(r, code) for r, code in batch if isinstance(r, read.Family)], collected)
            self.version = next((r.version for r, _ in batch if isinstance(r, read.Header)), self.version)
        self._write_late_notes()
        if collected is not None:
            self._write_members(collected)

    def _write_people(self, people: list[tuple[read.PersonRecord, str]], collected: Families) -> None:
        new = [each for each in people if each[1] not in self.plan.people]
        known = {self.plan.people[code]: (person, code) for person, code in people if code in self.plan.people}
        ids = tree_rows.add_people(self.work, new)
        for what, ids_changed in tree_rows.revise_people(self.work, known).items() if known else ():
            self._change(ids_changed, what)
        self.new |= set(ids) if self.again else set()
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
        """Write the notes that come in the file after those who point to them."""
        for _, person in self._to_note:
            for code in person.shared:
                if code not in self.reading.notes:
                    self.reading.warnings(person.line, f"this person refers to note @{code}@, which is not in the file")
        notes = ((id_, self.reading.note(person)) for id_, person in self._to_note)
        for batch in tree_rows.in_batches(notes):
            self._change(tree_rows.rewrite_notes(self.work, dict(batch)), "person")

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
            self._change(changed, "family")
            links += [(child, parent) for members in batch for child, parent, _ in members.links]
            births.update(child for members in batch for child, _, pedigree in members.links if pedigree == "birth")
        for loop in find_loops(links):
            self._warn_of_loop(loop)
        for child in sorted(child for child, count in births.items() if count > 2):
            self._warn_of_parents(child)

    def _warn_of_parents(self, child: int) -> None:
        c = t.parent_link.c
        by_birth = select(c.parent_id).where(c.child_id == child, c.pedigree == "birth", c.withdrawn == 0)
        parents = sorted(set(self.work.connection.scalars(by_birth)))
        if len(parents) > 2:
            people = tree_rows.names_of(self.work.connection, [child, *parents[:8]])
            self.reading.warnings(
                0,
                f"{people[child]} has {len(parents)} birth parents, "
                f"{', '.join(people[parent] for parent in parents[:8])}; note in the tree which of them adopted them",
            )

    def _warn_of_loop(self, loop: list[int]) -> None:
        shown = loop[:8]
        people = tree_rows.names_of(self.work.connection, shown)
        way = " → ".join(people[id_] for id_ in [*shown, *([] if len(loop) > len(shown) else shown[:1])])
        self.reading.warnings(
            0, f"people who are their own ancestors, each the child of the next: {way}; correct it in the tree"
        )

    def _change(self, ids: Iterable[int], what: str) -> None:
        for id_ in ids:
            if id_ not in self.new and id_ not in self._gone:
                self.changed[id_].add(what)
