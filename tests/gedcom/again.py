"""Trees that come again, for tests: a small family, an archive with a picture of each of them, and ways to change the
tree."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Callable, Collection
from pathlib import Path

from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.tree.importing import TreeImported
from kinphoto.store import tables as t

HEAD = "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n2 FORM LINEAGE-LINKED\n1 CHAR {}\n"


@dataclasses.dataclass(frozen=True)
class One:
    """A person of a test's tree."""

    code: str
    name: str
    born: str = ""
    died: str = ""
    uid: str = ""
    sex: str = "U"
    extra: str = ""

    def lines(self) -> str:
        """Their record."""
        text = f"0 @{self.code}@ INDI\n1 NAME {self.name}\n1 SEX {self.sex}\n"
        text += f"1 BIRT\n2 DATE {self.born}\n" if self.born else ""
        text += f"1 DEAT\n2 DATE {self.died}\n" if self.died else ""
        text += "".join(f"1 _UID {uid}\n" for uid in self.uid.split())
        return text + self.extra


Tree = tuple[list[One], dict[str, tuple[list[str], list[str]]]]
"""People, and families as (partners, children)."""


def gedcom(tree: Tree, encoding: str = "UTF-8") -> str:
    """A file of this tree."""
    people, families = tree
    text = HEAD.format(encoding) + "".join(one.lines() for one in people)
    for code, (partners, children) in families.items():
        text += f"0 @{code}@ FAM\n"
        text += "".join(f"1 {role} @{who}@\n" for role, who in zip(("HUSB", "WIFE"), partners, strict=False))
        text += "".join(f"1 CHIL @{who}@\n" for who in children)
    return text + "0 TRLR\n"


FAMILY: Tree = (
    [
        One("I1", "Gorm /Holm/", "3 MAR 1860", "1931", sex="M"),
        One("I2", "Alva /Kvernland/", "1862", "1940", sex="F"),
        One("I3", "Ida /Holm/", "1 JUN 1890", sex="F"),
        One("I4", "Jon /Holm/", "5 AUG 1892", sex="M"),
        One("I5", "Jan /Holm/", "5 AUG 1892", sex="M"),  # his twin
        One("I6", "Tora /Lund/", "1895", sex="F"),
        One("I7", "Gorm /Holm/", "9 SEP 1921", sex="M"),  # named after his grandfather
        One("I8", "Nils /Berg/", sex="M"),
        One("I9", "Nils /Berg/", sex="M"),  # a namesake; no dates of either
        One("I10", "Siv /Berg/", "1850", sex="F"),
        One("I11", "Ane /Vik/", "1852", sex="F"),
    ],
    {
        "F1": (["I1", "I2"], ["I3", "I4", "I5"]),
        "F2": (["I4", "I6"], ["I7"]),
        "F3": (["I8", "I10"], []),
        "F4": (["I9", "I11"], []),
    },
)


class Scene:
    """An archive with a tree in it, a photograph of everybody or of those in `pictured`, and whom each shows by now."""

    def __init__(self, folder: Path, tree: Tree = FAMILY, pictured: Collection[str] | None = None) -> None:
        self.archive = Archive.create(folder / "archive")
        self.file = folder / "tree.ged"
        self.bring(tree)
        self.pictures: dict[str, int] = {}
        with self.archive.working("pictures") as work:
            p = t.person.c
            for code, name, id_ in work.connection.execute(select(p.code, p.name, p.id)).all():
                if pictured is not None and code not in pictured:
                    continue
                number = work.take("photograph.code").start
                photo = work.insert_one(t.photograph, code=f"K{number:05}", indexed=739_000)
                self.pictures[code] = work.insert_one(
                    t.appearance, photograph_id=photo, person_id=id_, said_at=work.at, why=name
                )

    def bring(self, tree: Tree, encoding: str = "UTF-8", codec: str = "utf-8") -> TreeImported:
        """Import a newer tree."""
        self.file.write_bytes(gedcom(tree, encoding).encode(codec))
        return self.archive.tree.import_file(self.file)

    def plan(self, tree: Tree) -> TreeImported:
        """What an import of it would do."""
        self.file.write_bytes(gedcom(tree).encode())
        return self.archive.tree.plan_import(self.file)

    def shows(self, code: str) -> tuple[str, str, int]:
        """Code, name and whether gone of the person who is now on the picture that was taken of `code`."""
        a, p = t.appearance.c, t.person.c
        query = select(p.code, p.name, p.gone).join(t.appearance, a.person_id == p.id)
        with self.archive.reading() as connection:
            found = connection.execute(query.where(a.id == self.pictures[code])).one()
        return found.code, found.name, found.gone

    def everybody(self) -> dict[str, tuple[str, str, int]]:
        """Whom each picture shows."""
        return {code: self.shows(code) for code in self.pictures}


def changed(tree: Tree, **of: dict[str, str]) -> Tree:
    """The tree with fields of some people changed, by their pointer."""
    return [dataclasses.replace(one, **of.get(one.code, {})) for one in tree[0]], tree[1]


def renumbered(tree: Tree, new: Callable[[str], str]) -> Tree:
    """The tree with other pointers."""
    people = [dataclasses.replace(one, code=new(one.code)) for one in tree[0]]
    families = {
        code.replace("F", "FAM"): ([new(p) for p in partners], [new(c) for c in children])
        for code, (partners, children) in tree[1].items()
    }
    return people, families


GIVEN = {
    "F": "Ada Bertha Clara Dora Edda Frida Greta Hedda Ingrid Johanne Karen Lise Mary Nora Olga Petra Ragna Signe",
    "M": "Arne Bernt Carl Didrik Einar Finn Gustav Halvor Isak Jens Knut Lambert Magnus Nils Olav Peder Rolf Sverre",
}
SURNAMES = "Holm Grice Marsh Vik Moe Lund Berg Dahl Quillern Ombry Strand Hartnoll".split()
MONTHS = "JAN FEB MAR APR MAY JUN JUL AUG SEP OCT NOV DEC".split()


def generations(seed: int = 1, size: int = 80) -> Tree:
    """An invented family of about so many people in four generations; ids in the order in which they were put in."""
    dice = random.Random(seed)
    people: list[One] = []
    families: dict[str, tuple[list[str], list[str]]] = {}

    def person(sex: str, surname: str, year: int) -> str:
        born = dice.choice((f"{dice.randint(1, 28)} {dice.choice(MONTHS)} {year}", f"{year}", f"ABT {year}"))
        died = f"{year + dice.randint(45, 90)}" if year < 1930 and dice.random() < 0.6 else ""
        name = f"{dice.choice(GIVEN[sex].split())} /{surname}/"
        people.append(One(f"I{len(people) + 1}", name, born, died, sex=sex))
        return people[-1].code

    couples = []
    for _ in range(4):
        year = dice.randint(1850, 1865)
        him, her = (
            person("M", dice.choice(SURNAMES), year),
            person("F", dice.choice(SURNAMES), year + dice.randint(0, 8)),
        )
        couples.append((him, her, year))
    while couples and len(people) < size:
        him, her, year = couples.pop(0)
        surname = people[int(him[1:]) - 1].name.split("/")[1]
        children = []
        for number in range(dice.randint(2, 5)):
            sex, born = dice.choice("FM"), year + 24 + 2 * number + dice.randint(0, 1)
            children.append(person(sex, surname, born))
            if dice.random() < 0.6:
                other = person("FM"[sex == "F"], dice.choice(SURNAMES), born + dice.randint(-5, 5))
                couples.append((children[-1], other, born) if sex == "M" else (other, children[-1], born))
        families[f"F{len(families) + 1}"] = ([him, her], children)
    for him, her, _ in couples:
        families[f"F{len(families) + 1}"] = ([him, her], [])
    return people, families
