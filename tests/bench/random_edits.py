"""Random edits of every kind, and after each of them four questions that something outside the program answers.

    python tests/bench/random_edits.py [--edits 900] [--archives 15] [--minutes 25] [--seed 1]

Archives are small families' (some 40 people, 24 photographs), so that the oracles can keep up. An edit is any statement
or name, something withdrawn or reinstated, a change taken back, scans joined or parted, a face framed or unnamed, a way
out of a conflict, a box, an informant, or the tree imported again with something in it changed. What is refused with a
line for the reader counts as refused; anything else that is raised is a fault. After each edit:

- **undo**: taken back, every row of every table that is not derived is as it was; and having it again, as it became;
- **bounds**: the first and last possible days are those of two linear programs (GLOP), or neither finds any;
- **conflicts**: each cannot be true together, and can without any one of its statements (Bellman and Ford's method, of
  networkx); with what is set aside left out the rest can be true; and z3's Optimize sets aside nothing cheaper. The
  last is asked only where no face has rival names, which z3 is not told of: they are drawn in every third archive;
- **dates**: everything is dated, one photograph is laid out as a strip, and conflicts are told, without a complaint.

It ends after so many minutes, says how far it came, and its status is 1 if anything was found.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic
from typing import Any

import families
import numpy as np
import z3
from families import Family
from oracles import BOX, bounds, by_glop, by_networkx, in_z3
from sqlalchemy import Table, select

from kinphoto.archive import Archive
from kinphoto.archive.dates.evidence import gather
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.archive.statements.descriptions import Description
from kinphoto.errors import KinphotoError
from kinphoto.reason.hard.conflict import COST, Settled, settle
from kinphoto.reason.model.findings import Conflict
from kinphoto.store import tables as t

DERIVED = {"change", "change_row", "counter", "estimate", "setting"}
"""Tables that hold the journal itself or what is made of the others."""
PATIENCE = 20_000
"""Milliseconds for z3 to find what is cheapest."""
SAID = ("taken", "inscription", "recollection", "written", "postmark", "print-stamp", "imprint")
TIES = ("before", "after", "copy-of", "same-negative", "same-occasion", "same-strip", "part-of")

Rows = dict[str, dict[int, tuple[Any, ...]]]


# --- edits ------------------------------------------------------------------------------------------------------------


def name(family: Family) -> object:
    """Somebody on a face, as a likeness, laid out, or denied; with an age or two, or somebody new."""
    dice, code = family.dice, family.photograph()
    who = family.somebody(code)
    ages = {"age": family.age(who, code)} if dice.random() < 0.5 else {}
    if dice.random() < 0.15:
        ages["stated_age"] = family.age(who, code).partition("-")[0]
    region = None
    if dice.random() < 0.5:  # below the faces that are there, unless rivals are wanted
        top = 0.3 if family.seed % 3 == 0 else 0.75
        region = f"{dice.randrange(7) / 8 if top > 0.5 else 0.05 + 0.18 * dice.randrange(5):.3f},{top},0.12,0.2"
    said = Link(
        photograph=code, person=f"I{who.number}", region=region, by=family.teller(), trust=trust(family),
        role=dice.choice((None, None, None, None, "likeness", "laid-out")), why=dice.choice((None, "her hat")),
        denied=not ages and dice.random() < 0.1, **ages,
    )  # fmt: skip
    if dice.random() < 0.06:
        return family.archive.statements.link_newcomer(said, f"Nils {family.dice.choice(families.TELLERS)[:4]}")
    return family.archive.statements.link(said)


def trust(family: Family) -> str | None:
    """How far it is believed, mostly not told."""
    return family.dice.choice((None, None, None, None, "certain", "strong", "fair", "weak"))


def state(family: Family) -> object:
    """A date on or about the object."""
    code = family.photograph()
    said = NewClaim(photograph=code, kind=family.dice.choice(SAID), date=family.date(code), by=family.teller(),
                trust=trust(family), text=family.dice.choice((None, "Skerry Point")))  # fmt: skip
    return family.archive.statements.record(said)


def relate(family: Family) -> object:
    """Two photographs hang together, now and then wrongly."""
    dice = family.dice
    one, other = sorted(dice.sample(family.there, 2), key=family.taken.__getitem__)
    kind = dice.choice(TIES)
    if kind == "after" and dice.random() < 0.8:
        one, other = other, one
    return family.archive.statements.relate(Tie(photograph=one, relation=kind, other=other, trust=trust(family)))


def withdraw(family: Family) -> object:
    """Somebody no longer says something, or a date or tie of the tree is not believed."""
    return family.archive.statements.withdraw(any_statement(family, withdrawn=False))


def reinstate(family: Family) -> object:
    """What was withdrawn stands again."""
    return family.archive.statements.reinstate(any_statement(family, withdrawn=True))


def any_statement(family: Family, *, withdrawn: bool) -> str:
    """The name of any statement, appearance, event, parent link or marriage."""
    letter, table = family.dice.choice(
        [("S", t.statement), ("S", t.statement), ("A", t.appearance), ("A", t.appearance), ("E", t.event),
         ("L", t.parent_link), ("M", t.family)]
    )  # fmt: skip
    with family.archive.reading() as connection:
        ids = connection.scalars(select(table.c.id).where(table.c.withdrawn == int(withdrawn))).all()
    return f"{letter}{family.dice.choice(sorted(ids) or [0])}"


def take_back(family: Family) -> object:
    """Any of the last changes."""
    last = family.archive.statements.history(12)
    return family.archive.statements.undo(family.dice.choice(last).number if last else None)


def join(family: Family) -> object:
    """Two scans are of one object."""
    with family.archive.reading() as connection:
        paths = connection.scalars(select(t.scan.c.path).order_by(t.scan.c.id)).all()
    return family.archive.scans.join(family.dice.sample(paths, 2), family.dice.choice((None, "verso", "detail")))


def part(family: Family) -> object:
    """A scan is of an object of its own."""
    with family.archive.reading() as connection:
        many = select(t.scan.c.photograph_id).where(t.scan.c.position > 0)
        paths = connection.scalars(select(t.scan.c.path).where(t.scan.c.photograph_id.in_(many))).all()
        everything = connection.scalars(select(t.scan.c.path)).all()
    return family.archive.scans.separate(family.dice.choice(sorted(paths or everything)))


def turn(family: Family) -> object:
    """A scan is turned upright."""
    with family.archive.reading() as connection:
        paths = sorted(connection.scalars(select(t.scan.c.path)))
    return family.archive.scans.turn(family.dice.choice(paths), family.dice.choice(("left", "right", "over")))


def face(family: Family) -> object:
    """A face is framed anew, or loses its name."""
    with family.archive.reading() as connection:
        a, p = t.appearance.c, t.photograph.c
        rows = connection.execute(select(a.id, p.code).join(t.photograph, p.id == a.photograph_id)).all()
    id_, code = family.dice.choice(sorted(tuple(row) for row in rows))
    if family.dice.random() < 0.5:
        return family.archive.statements.take_name_off(f"A{id_}")
    return family.archive.statements.move_face(code, f"A{id_}", f"{family.dice.uniform(0, 0.6):.2f},0.2,0.2,0.3")


def settle_one(family: Family) -> object:
    """A way out of a conflict is taken."""
    stories = family.archive.dates.conflicts().stories
    if not stories:
        return state(family)
    story = family.dice.choice(stories)
    return family.archive.dates.settle(story.id, family.dice.choice(story.ways_out))


def people(family: Family) -> object:
    """Somebody outside the tree is added, or turns out to be another."""
    dice = family.dice
    if dice.random() < 0.5:
        return family.archive.people.add(
            f"Arne Tveit {dice.randrange(99)}", born=dice.choice((None, "1880", "ABT 1901"))
        )
    return family.archive.people.identify(f"X{dice.randrange(1, 5)}", f"I{dice.choice(family.everybody).number}")


def tellers(family: Family) -> object:
    """An informant is somebody of the tree, or goes by another name."""
    dice = family.dice
    if dice.random() < 0.5:
        return family.archive.statements.add_informant(
            dice.choice(families.TELLERS), f"I{dice.choice(family.everybody).number}"
        )
    return family.archive.statements.rename_informant(
        dice.choice(families.TELLERS), dice.choice((*families.TELLERS, "Nanna"))
    )


def object_(family: Family) -> object:
    """Words, a box, an order."""
    dice, code = family.dice, family.photograph()
    if dice.random() < 0.4:
        return family.archive.photographs.move([code], f"Box {dice.randrange(3)}")
    if dice.random() < 0.3:
        return family.archive.photographs.reorder("Box 1", [code])
    return family.archive.photographs.describe(
        code, Description(title=f"Ferry {dice.randrange(9)}", place=dice.choice(("", "Skerry")))
    )


def tree(family: Family) -> object:
    """The tree comes again: a date is another, somebody is gone, spelled anew or new, or all ids are."""
    dice, path = family.dice, family.folder / "tree.ged"
    records = path.read_text(encoding="utf-8").split("\n0 ")
    luck, at = dice.random(), dice.randrange(1, len(records) - 1)
    if luck < 0.5:
        lines = records[at].split("\n")
        dated = [n for n, line in enumerate(lines) if line.startswith("2 DATE")]
        if dated:
            lines[dice.choice(dated)] = f"2 DATE {dice.choice(('', 'ABT ', 'BEF '))}{dice.randrange(1840, 1990)}"
        records[at] = "\n".join(lines)
    elif luck < 0.65:
        del records[at]
    elif luck < 0.8:
        records[at] = records[at].replace("1 NAME ", f"1 NAME {dice.choice(('Anna', 'Olaf'))} ")
    elif luck < 0.95:
        records.insert(at, f"@N{dice.randrange(9999)}@ INDI\n1 NAME Inga /Fjordung/\n1 BIRT\n2 DATE {1850 + at}")
    else:
        records = [r.replace("@I", "@P").replace("@F", "@G") for r in records]
    path.write_text("\n0 ".join(records), encoding="utf-8")
    return family.archive.tree.import_file(path)


EDITS: dict[str, tuple[float, Callable[[Family], object]]] = {
    "name": (4, name), "age": (2, families.age), "date": (4, state), "event": (2, families.event), "tie": (3, relate),
    "process, format": (1, families.made), "withdraw": (3, withdraw), "reinstate": (2, reinstate),
    "undo": (2, take_back), "join": (1, join), "part": (1, part), "turn": (0.5, turn), "face": (1.5, face),
    "settle": (1, settle_one), "people": (1, people), "informants": (0.7, tellers), "object": (0.7, object_),
    "tree again": (2, tree),
}  # fmt: skip
"""How often each is drawn, and what it does."""


# --- questions --------------------------------------------------------------------------------------------------------


@dataclass
class Tally:
    """What was asked, and what was found."""

    done: Counter[str] = field(default_factory=Counter)
    asked: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    irreducible: dict[str, bool] = field(default_factory=dict)

    def check(self, what: str, right: bool, where: str) -> None:
        """Count an answer; one that is wrong is told at once."""
        self.asked[what] += 1
        if not right:
            self.faults.append(f"{where}: {what}")
            print("FAULT", self.faults[-1], flush=True)


def rows(archive: Archive) -> Rows:
    """Every row that is not derived."""
    with archive.reading() as connection:
        return {x.name: read(connection, x) for x in t.metadata.sorted_tables if x.name not in DERIVED}


def read(connection: Any, table: Table) -> dict[int, tuple[Any, ...]]:
    """The rows of a table, in no order."""
    return {n: tuple(row) for n, row in enumerate(sorted(connection.execute(select(table)).all(), key=repr))}


def check_undo(family: Family, before: Rows, newest: int, tally: Tally, where: str) -> None:
    """Taking the last change back gives the rows before it; having it again those after it."""
    archive = family.archive
    if not archive.statements.history(1) or archive.statements.history(1)[0].number == newest:
        tally.check("nothing changed without a line in the log", rows(archive) == before, where)
        return
    after, number = rows(archive), archive.statements.history(1)[0].number
    undone = archive.statements.undo(number)
    tally.check("undo restores every row", rows(archive) == before, where)
    if family.dice.random() < 0.75:
        archive.statements.undo(undone.logged_as)
        tally.check("undo of the undo brings every row back", rows(archive) == after, where)


def check_bounds(settled: Settled, tally: Tally, where: str) -> None:
    """The bounds that are told, against two linear programs."""
    told = settled.constraints
    for what, found in (("all", settled.everything), ("believed", settled.strong)):
        off = np.flatnonzero(found.off).tolist()
        expected = bounds(told, off, by_glop)
        if expected is None:
            tally.check(f"bounds ({what}) agree with GLOP", not found.feasible, where)
            continue
        plain = range(len(told.variables.kinds) - len(told.hulls) - len(told.alternatives))
        mine = [np.clip(days[: len(plain)], -BOX, BOX) for days in (found.lower, found.upper)]
        walled = [
            [d if abs(d) < BOX // 2 else BOX if d > 0 else -BOX for d in (days[v] for v in plain)] for days in expected
        ]
        same = all(np.array_equal(a, b) for a, b in zip(mine, walled, strict=True))
        tally.check(f"bounds ({what}) agree with GLOP", same, where)


def check_conflicts(settled: Settled, tally: Tally, where: str) -> None:
    """Each conflict by itself, and what is set aside of all."""
    told = settled.constraints
    place = {s.id: i for i, s in enumerate(told.statements)}
    for conflict in settled.conflicts:
        key = repr([told.statements[place[s]] for s in conflict.statements])
        if key not in tally.irreducible:
            tally.irreducible[key] = is_irreducible(settled, conflict, place)
        tally.check("conflicts are irreducible", tally.irreducible[key], where)
    aside = [place[s] for s in settled.aside]
    tally.check("the rest fits together", bounds(told, aside, by_networkx) is not None, where)
    if len(told.hulls):
        tally.asked["what is cheapest not asked: rival names"] += 1
        return
    optimize = z3.Optimize()
    optimize.set("timeout", PATIENCE)
    switch = in_z3(told, optimize)
    for statement in told.statements:
        optimize.add_soft(switch[statement.id], COST[statement.trust])
    if optimize.check() != z3.sat:
        tally.asked["what is cheapest not asked: z3 took too long"] += 1
        return
    least = sum(COST[s.trust] for s in told.statements if z3.is_false(optimize.model()[switch[s.id]]))
    ours = sum(COST[told.statements[s].trust] for s in aside)
    tally.check("nothing cheaper could be set aside" if aside else "z3 sets nothing aside either", least == ours, where)


def is_irreducible(settled: Settled, conflict: Conflict, place: dict[str, int]) -> bool:
    """Whether these cannot be true together, and can without any one of them."""
    told, own = settled.constraints, {place[s] for s in conflict.statements}

    def fits(some: set[int]) -> bool:
        return bounds(told, [s for s in range(len(told.statements)) if s not in some], by_networkx) is not None

    return not fits(own) and all(fits(own - {s}) for s in own)


def check_dates(family: Family, tally: Tally, where: str) -> None:
    """Everything is dated, and told."""
    archive = family.archive
    archive.dates.refresh_photographs()
    found = archive.dates.estimates()
    tally.check("every photograph is dated", {d.code for d in found} == photographs(archive), where)
    one = family.dice.choice(found)
    tally.check("a strip tells the kept date", archive.dates.evidence_strip(one.code).estimate == one.estimate, where)
    archive.dates.conflicts()


def photographs(archive: Archive) -> set[str]:
    """The codes of all that can have a date."""
    with archive.reading() as connection:
        p = t.photograph.c
        return set(connection.scalars(select(p.code).where(p.page == 0)))


def one_edit(family: Family, kind: str, tally: Tally, where: str) -> None:
    """One edit and all questions."""
    archive = family.archive
    before, newest = rows(archive), archive.statements.history(1)[0].number
    try:
        EDITS[kind][1](family)
    except KinphotoError as refused:
        tally.done[f"{kind}, refused"] += 1
        tally.check("what is refused changes nothing", rows(archive) == before, f"{where}, refused: {refused}")
        return
    tally.done[kind] += 1
    check_undo(family, before, newest, tally, where)
    with archive.reading() as connection:
        settled = settle(gather(connection))
    check_bounds(settled, tally, where)
    check_conflicts(settled, tally, where)
    check_dates(family, tally, where)
    family.absent = family.taken.keys() - photographs(archive)  # joined into another, or a page now


def main() -> int:
    """Make the edits and print what was found."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--edits", type=int, default=900)
    arguments.add_argument("--archives", type=int, default=15)
    arguments.add_argument("--minutes", type=float, default=25)
    arguments.add_argument("--seed", type=int, default=1)
    given = arguments.parse_args()
    tally, end = Tally(), monotonic() + 60 * given.minutes
    kinds, weights = list(EDITS), [often for often, _ in EDITS.values()]
    count = 0
    for seed in range(given.seed, given.seed + given.archives):
        with tempfile.TemporaryDirectory() as folder:
            family = families.build(Path(folder), seed, 24, 40)
            for n in range(given.edits // given.archives):
                if monotonic() > end:
                    break
                kind = family.dice.choices(kinds, weights)[0]
                where = f"archive {seed}, edit {n} ({kind})"
                try:
                    one_edit(family, kind, tally, where)
                except Exception as problem:
                    traceback.print_exc()
                    tally.check(f"nothing is raised, but {type(problem).__name__}: {problem}", False, where)
                count += 1
    print(f"{count} of {given.edits} edits on {given.archives} archives")
    print("; ".join(f"{kind} {number}" for kind, number in sorted(tally.done.items())))
    for what, number in tally.asked.items():
        wrong = sum(fault.endswith(what) for fault in tally.faults)
        print(f"{number:6}  {what}" + (f": {wrong} WRONG" if wrong else ""))
    print(f"{len(tally.irreducible)} different conflicts; {len(tally.faults)} faults")
    return 1 if tally.faults else 0


if __name__ == "__main__":
    sys.exit(main())
