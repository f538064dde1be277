"""Makes a family tree, scans and spreadsheets of any size, for benchmarks and for tests of the whole.

Everything is drawn from a seeded generator: invented people with numbered names, small pictures of coloured noise, and
links and statements that are all true, so that a sound reasoner finds nothing to set aside.
"""

from __future__ import annotations

import csv
import random
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from PIL import Image

MONTHS = "JAN FEB MAR APR MAY JUN JUL AUG SEP OCT NOV DEC".split()
GIVEN = {
    "F": "Alva Brita Cora Dagny Elin Frida Greta Hilma Ida Jorunn Karin Lovis Mina Nanna Olga".split(),
    "M": "Arne Birk Claus Detlef Edvin Folke Gorm Hauke Ivar Jens Klaas Leif Momme Nis Olav".split(),
}
SURNAMES = "Askvold Brunkhorst Dahlskog Eidsvaag Fjordung Gravenhof Hallinger Isebrand Kvernland Lundmark".split()


@dataclass
class Somebody:
    """One invented person; days are ordinals."""

    number: int
    sex: str
    name: str
    surname: str
    born: int
    died: int
    parents: int | None = None  # the number of their parents' family
    marriages: list[int] = field(default_factory=list)


@dataclass
class Household:
    """A couple and their children."""

    number: int
    father: Somebody
    mother: Somebody
    married: int
    children: list[Somebody] = field(default_factory=list)


def make_family(people: int, seed: int) -> tuple[list[Somebody], list[Household]]:
    """A family of about `people` persons over several generations."""
    dice = random.Random(seed)
    everybody: list[Somebody] = []
    homes: list[Household] = []

    def somebody(sex: str, born: int, surname: str, parents: int | None = None) -> Somebody:
        years = min(max(dice.gauss(66, 16), 1), 101)
        one = Somebody(
            len(everybody) + 1, sex, dice.choice(GIVEN[sex]), surname, born, born + int(years * 365.25), parents
        )
        everybody.append(one)
        return one

    start = date(1835, 1, 1).toordinal()
    waiting: list[Somebody] = []
    while len(everybody) < people:
        if not waiting:
            waiting.append(somebody(dice.choice("MF"), start + dice.randrange(20 * 365), dice.choice(SURNAMES)))
        one = waiting.pop(0)
        married = one.born + int(dice.uniform(20, 32) * 365.25)
        if married > min(one.died, date(1985, 1, 1).toordinal()):
            continue
        other = somebody("F" if one.sex == "M" else "M", one.born + dice.randrange(-1500, 1500), dice.choice(SURNAMES))
        other.died = max(other.died, married + 3650)
        man, woman = (one, other) if one.sex == "M" else (other, one)
        home = Household(len(homes) + 1, man, woman, married)
        homes.append(home)
        one.marriages.append(home.number)
        other.marriages.append(home.number)
        for n in range(dice.randrange(1, 5)):
            born = married + 300 + n * 800 + dice.randrange(300)
            if born < min(woman.died, man.died) and born < woman.born + 44 * 365:
                child = somebody(dice.choice("MF"), born, man.surname, home.number)
                home.children.append(child)
                waiting.append(child)
    return everybody, homes


def write_gedcom(path: Path, everybody: list[Somebody], homes: list[Household]) -> None:
    """The family as GEDCOM 5.5.1; of living people (as of 2025) no death is written."""
    today = date(2025, 1, 1).toordinal()
    with path.open("w", encoding="utf-8") as out:
        out.write("0 HEAD\n1 SOUR MADE\n1 GEDC\n2 VERS 5.5.1\n2 FORM LINEAGE-LINKED\n1 CHAR UTF-8\n")
        for p in everybody:
            out.write(f"0 @I{p.number}@ INDI\n1 NAME {p.name} {numeral(p.number)} /{p.surname}/\n1 SEX {p.sex}\n")
            out.write(f"1 BIRT\n2 DATE {ged(p.born)}\n")
            if p.died < today:
                out.write(f"1 DEAT\n2 DATE {ged(p.died)}\n")
            if p.parents:
                out.write(f"1 FAMC @F{p.parents}@\n")
            out.writelines(f"1 FAMS @F{m}@\n" for m in p.marriages)
        for h in homes:
            out.write(f"0 @F{h.number}@ FAM\n1 HUSB @I{h.father.number}@\n1 WIFE @I{h.mother.number}@\n")
            out.writelines(f"1 CHIL @I{c.number}@\n" for c in h.children)
            out.write(f"1 MARR\n2 DATE {ged(h.married)}\n")
        out.write("0 TRLR\n")


def make_scans(folder: Path, count: int, seed: int) -> list[Path]:
    """Small JPEG files of coloured noise, no two alike, in folders of 200."""
    dice = random.Random(seed)
    made = []
    for n in range(count):
        path = folder / f"box_{n // 200 + 1:02d}" / f"print_{n % 200 + 1:04d}.jpg"
        path.parent.mkdir(parents=True, exist_ok=True)
        small = Image.frombytes("RGB", (8, 6), dice.randbytes(8 * 6 * 3))
        small.resize((96, 72)).save(path, quality=80, dpi=(300, 300))
        made.append(path)
    return made


def write_links(path: Path, scans: list[Path], homes: list[Household], seed: int) -> dict[Path, int]:
    """A spreadsheet that links each scan to one to four of a household with apparent ages; returns the true days."""
    dice = random.Random(seed)
    truth: dict[Path, int] = {}
    with path.open("w", encoding="utf-8", newline="") as out:
        write = csv.writer(out)
        write.writerow("photo,person,left,top,width,height,age_from,age_to,age_basis,informant,unseen".split(","))
        for scan in scans:
            home = dice.choice(homes)
            day = home.married + dice.randrange(-400, 9000)
            there = [p for p in (home.father, home.mother, *home.children) if p.born < day < p.died]
            truth[scan] = day
            for n, p in enumerate(dice.sample(there, min(len(there), dice.randrange(1, 5)))):
                age = max((day - p.born) / 365.25 + dice.gauss(0, 0.17) * ((day - p.born) / 365.25 + 2), 0)
                low, high = int(age * 0.95), int(age * 1.05) + 1
                place = (round(0.1 + 0.2 * n, 2), 0.3, 0.12, 0.2)
                end = "/".join(scan.parts[-2:])
                who = dice.choice(["Aunt Elin", "Ivar"])  # whose ages are drawn from the true ones: no date was seen
                write.writerow([end, f"I{p.number}", *place, low, high, "apparent", who, "yes"])
    return truth


def numeral(number: int) -> str:
    """A second name that makes every full name different: 27 is "Bra"."""
    text = ""
    while number:
        number, digit = divmod(number, 20)
        text = "bcdfghklmnprstvwxzjq"[digit] + "aeiou"[digit % 5] + text
    return text.capitalize()


def ged(day: int) -> str:
    """A day as GEDCOM writes it."""
    d = date.fromordinal(day)
    return f"{d.day} {MONTHS[d.month - 1]} {d.year}"
