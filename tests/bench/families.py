"""Archives as one family has them, and what people do to them: for benchmarks that change an archive at random.

A tree of some ninety people over generations, many of whose births and deaths it has vaguely or not at all; 100 to 300
photographs of a few households, most faces with a judged age, some backs with a date, weddings, copies, processes. What
is said is true unless it is drawn to be careless.
"""

from __future__ import annotations

import csv
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from pathlib import Path

from making import MONTHS, Household, Somebody, ged, make_family, make_scans, numeral
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.store import tables as t

YEAR = 365.2425
CARELESS = 0.06
"""Share of what is said that is off by years, or about somebody else."""
TELLERS = ("Aunt Elin", "Ivar", "Cousin Hauke", "Greta")
PROCESSES = (
    ("process", "gelatin-silver", 1895, 1985),
    ("process", "albumen", 1858, 1895),
    ("format", "cabinet-card", 1868, 1908),
    ("format", "real-photo-postcard", 1905, 1940),
)
"""Kind, name, and about the years in which one is met."""


@dataclass
class Family:
    """An archive, what is true of it, and the dice by which it is changed."""

    archive: Archive
    folder: Path
    seed: int
    dice: random.Random
    everybody: list[Somebody]
    homes: list[Household]
    taken: dict[str, int] = field(default_factory=dict)
    """The true day of each photograph, by code."""
    home: dict[str, Household] = field(default_factory=dict)
    absent: set[str] = field(default_factory=set)
    """Codes of photographs that are not there at present."""

    @property
    def there(self) -> list[str]:
        """The codes of the photographs."""
        return [code for code in self.taken if code not in self.absent]

    def careless(self) -> bool:
        """Whether what is said next is wrong."""
        return self.dice.random() < CARELESS

    def photograph(self) -> str:
        """The code of any photograph."""
        return self.dice.choice(self.there)

    def teller(self) -> str | None:
        """Who says it, if that is told."""
        return self.dice.choice((*TELLERS, None))

    def somebody(self, code: str) -> Somebody:
        """Somebody who was alive when it was taken, mostly of its household."""
        day, home = self.taken[code], self.home[code]
        there = [p for p in (home.father, home.mother, *home.children) if p.born < day < p.died]
        alive = [p for p in self.everybody if p.born < day < p.died]
        if self.careless() or not (there or alive):
            return self.dice.choice(self.everybody)
        return self.dice.choice(alive if alive and (not there or self.dice.random() < 0.2) else there)

    def age(self, who: Somebody, code: str) -> str:
        """How old somebody looks in a photograph."""
        years = max((self.taken[code] - who.born) / YEAR, 0.0)
        seen = max(years + self.dice.gauss(0, 0.17) * (years + 2), 0)
        if self.careless():
            seen = self.dice.uniform(0, 80)
        low, high = int(seen * 0.94), min(int(seen * 1.06) + 1, 110)
        return self.dice.choice((f"{low}-{high}", f"{round(min(seen, 110))}"))

    def date(self, code: str) -> str:
        """A date somebody writes for a photograph."""
        day = max(self.taken[code] + (self.dice.randrange(-9000, 9000) if self.careless() else 0), 680_000)
        d = date.fromordinal(day)
        exact = (ged(day), f"{MONTHS[d.month - 1]} {d.year}", str(d.year), str(d.year), f"ABT {d.year}")
        return self.dice.choice((*exact, f"BET {d.year - 2} AND {d.year + 1}"))


def build(folder: Path, seed: int, photographs: int | None = None, people: int | None = None) -> Family:
    """A new archive in `folder`/archive, with its tree, its scans, and what was said of them so far."""
    dice = random.Random(seed)
    everybody, homes = make_family(people or dice.randrange(60, 130), seed)
    archive = Archive.create(folder / "archive")
    write_tree(folder / "tree.ged", everybody, homes, dice)
    archive.import_tree(folder / "tree.ged")
    count = photographs or dice.randrange(100, 300)
    make_scans(folder / "scans", count, seed)
    archive.add_scans([folder / "scans"])
    family = Family(archive, folder, seed, dice, everybody, homes)
    several = dice.sample(homes, min(len(homes), 7))
    with archive.reading() as connection:
        codes = list(connection.scalars(select(t.photograph.c.code).order_by(t.photograph.c.id)))
    for code in codes:
        home = family.home[code] = dice.choice(several if dice.random() < 0.85 else homes)
        family.taken[code] = min(home.married + dice.randrange(-400, 9000), date(2019, 1, 1).toordinal())
    _links(family)
    archive.add_person("Jon Tveit")
    for _ in range(dice.randrange(3, 9)):
        archive.link(Link(photograph=family.photograph(), person="X1"))
    for what, times in ((inscription, 0.25), (wedding, 0.03), (relation, 0.12), (made, 0.15)):
        for _ in range(int(count * times)):
            what(family)
    archive.refresh_estimates()
    return family


def write_tree(path: Path, everybody: Sequence[Somebody], homes: Sequence[Household], dice: random.Random) -> None:
    """The family as GEDCOM 5.5.1: half of the births to the day, the others vaguely or not; a quarter of the deaths
    and some weddings not."""
    with path.open("w", encoding="utf-8") as out:
        out.write("0 HEAD\n1 SOUR MADE\n1 GEDC\n2 VERS 5.5.1\n2 FORM LINEAGE-LINKED\n1 CHAR UTF-8\n")
        for p in everybody:
            out.write(f"0 @I{p.number}@ INDI\n1 NAME {p.name} {numeral(p.number)} /{p.surname}/\n1 SEX {p.sex}\n")
            if born := _date(p.born, dice, 0.12):
                out.write(f"1 BIRT\n2 DATE {born}\n")
            if p.died < date(2020, 1, 1).toordinal() and (died := _date(p.died, dice, 0.25)):
                out.write(f"1 DEAT\n2 DATE {died}\n")
            if p.parents:
                out.write(f"1 FAMC @F{p.parents}@\n")
            out.writelines(f"1 FAMS @F{m}@\n" for m in p.marriages)
        for h in homes:
            out.write(f"0 @F{h.number}@ FAM\n1 HUSB @I{h.father.number}@\n1 WIFE @I{h.mother.number}@\n")
            out.writelines(f"1 CHIL @I{c.number}@\n" for c in h.children)
            out.write("1 MARR\n")
            if wed := _date(h.married, dice, 0.2):
                out.write(f"2 DATE {wed}\n")
        out.write("0 TRLR\n")


def _date(day: int, dice: random.Random, never: float) -> str:
    """A date as a tree has it; "" where it does not."""
    d, luck = date.fromordinal(day), dice.random()
    if luck < never:
        return ""
    vague = (str(d.year), f"ABT {d.year + dice.randrange(-3, 4)}", f"BEF {d.year + dice.randrange(1, 6)}",
             f"BET {d.year - 4} AND {d.year + 4}", f"EST {d.year + dice.randrange(-8, 9)}")  # fmt: skip
    return dice.choice(vague) if luck < never + 0.35 else ged(day)


def _links(family: Family) -> None:
    """Most photographs with one to five people on faces, nearly all with an age."""
    sheet = family.folder / "links.csv"
    with sheet.open("w", encoding="utf-8", newline="") as out:
        write = csv.writer(out)
        write.writerow("photo,person,left,top,width,height,age_from,age_to,age_basis,informant".split(","))
        for code in family.taken:
            people = {p.number: p for p in (family.somebody(code) for _ in range(family.dice.randrange(0, 6)))}
            for n, who in enumerate(people.values()):
                low, _, high = family.age(who, code).partition("-")
                ages = (low, high or low, "apparent") if family.dice.random() < 0.8 else ("", "", "")
                place = (round(0.05 + 0.18 * n, 2), 0.3, 0.12, 0.2)
                write.writerow([code, f"I{who.number}", *place, *ages, family.dice.choice(TELLERS)])
    family.archive.apply_sheet("links", sheet, keep_going=True)


# --- what people do: each changes the archive once and names the photographs that a page would date again -------------


def link(family: Family) -> list[str]:
    """Somebody is named, with an age or without."""
    code = family.photograph()
    who = family.somebody(code)
    age = family.age(who, code) if family.dice.random() < 0.6 else None
    family.archive.link(Link(photograph=code, person=f"I{who.number}", age=age, by=family.teller()))
    return [code]


def age(family: Family) -> list[str]:
    """An age of somebody who is named already."""
    with family.archive.reading() as connection:
        a, p, k = t.appearance.c, t.person.c, t.photograph.c
        rows = connection.execute(
            select(k.code, p.code).select_from(t.appearance.join(t.person).join(t.photograph))
            .where(a.withdrawn == 0, a.denied == 0, p.outside == 0).order_by(a.id)
        ).all()  # fmt: skip
    known = {f"I{p.number}": p for p in family.everybody}
    there = [row for row in rows if row[1] in known and row[0] in family.taken]
    if not there:  # the tree that came last calls everybody something else
        return link(family)
    code, person = family.dice.choice(there)
    who = known[person]
    told = family.age(who, code)
    kind = {"stated_age": told.partition("-")[0]} if family.dice.random() < 0.15 else {"age": told}
    family.archive.link(Link(photograph=code, person=person, by=family.teller(), **kind))  # type: ignore[arg-type]
    return [code]


def inscription(family: Family) -> list[str]:
    """A date on the object, or one that somebody tells."""
    code = family.photograph()
    kind = family.dice.choice(("taken", "inscription", "inscription", "recollection", "print-stamp"))
    family.archive.state(NewClaim(photograph=code, kind=kind, date=family.date(code), by=family.teller()))
    return [code]


def event(family: Family) -> list[str]:
    """A wedding, a birth or a death is shown."""
    if family.dice.random() < 0.7:
        return wedding(family)
    code = family.photograph()
    who = family.somebody(code)
    key = f"I{who.number}:{family.dice.choice(('BIRT', 'DEAT'))}"
    with family.archive.reading() as connection:
        e, p = t.event.c, t.person.c
        there = connection.scalar(
            select(e.id).join(t.person, p.id == e.person_id).where(p.code == key[:-5], e.tag == key[-4:])
        )
    if there is None:
        return wedding(family)
    family.archive.state(NewClaim(photograph=code, kind="event", date=key))
    return [code]


def wedding(family: Family) -> list[str]:
    """The wedding of a household whose photograph was taken about then."""
    code = min(family.dice.sample(family.there, 8), key=lambda k: abs(family.taken[k] - family.home[k].married))
    family.archive.state(NewClaim(photograph=code, kind="event", date=f"F{family.home[code].number}:MARR"))
    return [code]


def relation(family: Family) -> list[str]:
    """Two photographs hang together."""
    dice = family.dice
    kind = dice.choice(("before", "before", "before", "copy-of", "same-occasion"))
    some = dice.sample(family.there, 12)
    some.sort(key=family.taken.__getitem__)
    if kind == "before":
        one, other = sorted(dice.sample(some, 2), key=family.taken.__getitem__)
    else:
        one, other = min(pairwise(some), key=lambda pair: family.taken[pair[1]] - family.taken[pair[0]])
    family.archive.relate(Tie(photograph=one, relation=kind, other=other, trust=dice.choice((None, "strong"))))
    return [one]


def made(family: Family) -> list[str]:
    """How it was made, or what kind of object it is."""
    code = family.photograph()
    year = date.fromordinal(family.taken[code]).year
    kind, name, *_ = family.dice.choice([p for p in PROCESSES if p[2] <= year <= p[3]] or PROCESSES[:1])
    family.archive.record_made(code, kind, name)
    return [code]


def withdrawal(family: Family) -> list[str]:
    """Somebody no longer says something."""
    name, code = family.dice.choice(standing(family))
    family.archive.withdraw(name)
    return [code]


def second_thought(family: Family) -> list[str]:
    """A name is taken off its face, or given to somebody else, or the last change is taken back."""
    luck = family.dice.random()
    if luck < 0.4:
        before = family.archive.log(1)[0]
        family.archive.undo()
        return list(before.photographs)[:1] or [family.photograph()]
    names = [(name, code) for name, code in standing(family) if name.startswith("A")]
    name, code = family.dice.choice(names)
    family.archive.unname(name)
    if luck < 0.7:
        family.archive.link(Link(photograph=code, person=f"I{family.somebody(code).number}"))
    return [code]


KINDS: dict[str, Callable[[Family], list[str]]] = {
    "link": link, "age": age, "inscription": inscription, "event": event, "relation": relation, "made": made,
    "withdrawal": withdrawal, "second thought": second_thought,
}  # fmt: skip
"""What people do: eight kinds."""


def standing(family: Family) -> list[tuple[str, str]]:
    """What was said of photographs and stands: its name and the code."""
    with family.archive.reading() as connection:
        found = []
        for letter, table in (("S", t.statement), ("A", t.appearance)):
            rows = connection.execute(
                select(table.c.id, t.photograph.c.code)
                .join(t.photograph, t.photograph.c.id == table.c.photograph_id)
                .where(table.c.withdrawn == 0).order_by(table.c.id)
            )  # fmt: skip
            found += [(f"{letter}{row[0]}", str(row[1])) for row in rows]
    return found
