"""What the family's three informants tell about the box: `python -m sample_tree.sheets` writes the spreadsheets and truth/.

- Nora Quillern (1902 to 1990) knew the old ones. In 1983 she filled a copybook: names, few ages, sure of herself.
- Peter Quillern (born 1931) remembers much and mixes up some of it: three of the four mistakes are his.
- Judith Quillern (born 1950) scanned the box, and judges ages by looks alone.

How old somebody looks is drawn once, with the seed below, from a normal error about the true age on the scale on which
people misjudge ages (standard deviation 0.17 of ln(age + 2)); it was never drawn again to make anything come out better.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from math import exp, log
from pathlib import Path

import numpy as np

from .backs import BACKS
from .box import ALBUM, ALBUM_PAGE, BY_FILE, COPIED, COPY, RESCAN, RESCANNED, SHOTS, Shot, Sitter
from .family import BY_ID, HERE, age_on
from .outside import OUTSIDE

SEED = 1117
SPREAD = 0.17
NORA, PETER, JUDITH = "Nora Quillern", "Peter Quillern", "Judith Quillern"
WRONG_NAME = ("box-1/studio_0007.jpg", "I17", "I24")
"""Peter takes the boy in the lock-keeper's family for his father, who was not born yet: it is the cousin of the same name."""

Row = list[str]


def wide(age: float) -> float:
    """The scale on which ages are misjudged by the same amount: ln(age + 2), and a straight line from 51 on."""
    return log(age + 2) if age <= 51 else log(53) + (age - 51) / 53


def narrow(scale: float) -> float:
    """The age at a point of that scale."""
    return exp(scale) - 2 if scale <= log(53) else 51 + (scale - log(53)) * 53


def looks(age: float, rng: np.random.Generator) -> float:
    """How old somebody of an age looks to somebody."""
    return max(narrow(wide(age) + SPREAD * rng.normal()), 0.0)


def told_by(informant: str, age: float) -> tuple[str, str]:
    """An age as the informant would say it: lowest and highest completed years."""
    if informant == NORA:
        low, high = (int(age), int(age)) if age < 12 else (int(age) // 4 * 4, int(age) // 4 * 4 + 3)
    elif informant == PETER:
        low, high = (
            (int(age) // 3 * 3, int(age) // 3 * 3 + 2) if age < 15 else (int(age) // 10 * 10, int(age) // 10 * 10 + 9)
        )
    else:
        low, high = (
            (int(age), int(age))
            if age < 4
            else (int(age) // 2 * 2, int(age) // 2 * 2 + 1)
            if age < 16
            else (int(age) // 5 * 5, int(age) // 5 * 5 + 4)
        )
    return str(low), str(high)


def namer(shot: Shot) -> str:
    """Whoever put the names to a picture."""
    if shot.file.startswith("from-port-lissom") or shot.day.year < 1934:
        return NORA
    return PETER if shot.day.year < 1956 else JUDITH


def faces() -> dict[tuple[str, int], list[str]]:
    """Left, top, width, height of each sitter, as the drawing program placed them."""
    with (HERE / "truth" / "faces.csv").open(encoding="utf-8", newline="") as lines:
        return {
            (r["photo"], int(r["place"])): [r["left"], r["top"], r["width"], r["height"]] for r in csv.DictReader(lines)
        }


def known(sitter: Sitter) -> bool:
    """Whether anybody can name this sitter."""
    return ":" not in sitter.who


def person_cell(who: str, shot: Shot) -> str:
    """A tree id mostly; now and then a full name, where it belongs to one person only."""
    if who in OUTSIDE:
        return OUTSIDE[who].name
    name = BY_ID[who].name
    alone = sum(p.name == name for p in BY_ID.values()) == 1
    return name if alone and (int(who[1:]) + shot.day.year) % 7 == 0 else who


def link_rows() -> Iterator[Row]:
    """photo, person, left, top, width, height, age_from, age_to, age_basis, role, trust, informant, why."""
    rng, where = np.random.default_rng(SEED), faces()
    for shot in SHOTS:
        for i, sitter in enumerate(shot.sitters):
            box = where[shot.file, i]
            if not known(sitter):
                if i % 3 == 0:
                    yield [shot.file, "-", *box, "", "", "", "", "", namer(shot), ""]
                continue
            person = OUTSIDE.get(sitter.who) or BY_ID[sitter.who]
            age = age_on(person, shot.day)
            by = namer(shot)
            seen, again = told_by(by, looks(age, rng)), told_by(JUDITH, looks(age, rng))
            says_age = by != NORA or i % 3 == 1
            yield [shot.file, *_named(shot, sitter, box, by, seen if says_age else ("", ""))]
            if by != JUDITH and (shot.file, sitter.who) != WRONG_NAME[:2] and i % 4 != 3:
                yield [shot.file, person_cell(sitter.who, shot), *box, *again, "apparent", "", "", JUDITH, ""]
    yield [COPY, "I1", *where[COPY, 0], "", "", "", "", "", NORA, "the same card that stood on the dresser"]


def _named(shot: Shot, sitter: Sitter, box: list[str], by: str, seen: tuple[str, str]) -> Row:
    """A name put to a face by its namer, with or without an age."""
    basis = "apparent" if seen[0] else ""
    if (shot.file, sitter.who) == WRONG_NAME[:2]:
        return [WRONG_NAME[2], *box, "", "", "", "", "fair", PETER, "the boy in the middle must be my father"]
    trust, why = "", ""
    if shot.file == WRONG_NAME[0]:
        trust, why = "strong", "the names are written below on the mount, in Henrike's hand"
    return [person_cell(sitter.who, shot), *box, *seen, basis, "", trust, by, why]


STATED: tuple[Row, ...] = (
    ["box-1/school_0002.jpg", "I27", "8", "8", NORA, "I was eight; it was the year Mother made the sailor dresses"],
    ["tin/school_0003.jpg", "I54", "5", "5", PETER, "my first year at school"],
    ["slides/slide_0001.jpg", "I10", "90", "90", JUDITH, "it was the party for her ninetieth"],
    ["colour/colour_0005.jpg", "I82", "0", "0", JUDITH, "not yet half a year"],
)
"""Ages that somebody knows rather than sees: photo, person, lowest, highest, informant, why."""


def stated_rows() -> Iterator[Row]:
    """The stated ages as rows of links."""
    where = faces()
    for photo, who, low, high, by, why in STATED:
        place = next(i for i, s in enumerate(BY_FILE[photo].sitters) if s.who == who)
        yield [photo, who, *where[photo, place], low, high, "stated", "", "", by, why]


MISREAD = (
    "box-1/ferry_0003.jpg",
    "inscription",
    "AUG 1900",
    "The ferry, August 1900. Hedda & Florian with Clemence, Nora and little Maud",
    "",
    PETER,
)
"""The back says 1909. Nora was born in 1902."""

STATEMENTS: tuple[tuple[str, ...], ...] = (
    ("box-1/studio_0003.jpg", "imprint", "FROM 1871 TO 1889", "A. Dorrington, artist in photography, Quay Street, Pellering", "", JUDITH),
    ("box-1/studio_0003.jpg", "inscription", "", "Corvin & Maud", "", JUDITH),
    ("box-1/studio_0004.jpg", "imprint", "FROM 1871 TO 1889", "A. Dorrington, Quay Street, Pellering", "", JUDITH),
    ("box-1/studio_0005.tif", "imprint", "FROM 1871 TO 1889", "A. Dorrington, Quay Street, Pellering", "", JUDITH),
    ("box-1/studio_0006.jpg", "imprint", "FROM 1871 TO 1889", "A. Dorrington, Quay Street, Pellering", "", JUDITH),
    ("box-1/studio_0006.jpg", "event", "F6:MARR", "Ottilie's wedding", "", NORA),
    ("box-1/studio_0007.jpg", "imprint", "FROM 1871 TO 1889", "A. Dorrington, Quay Street, Pellering", "", JUDITH),
    ("box-1/studio_0008.jpg", "imprint", "FROM 1889 TO 1907", "Dorrington & Daughter, Quay Street, Pellering", "", JUDITH),
    ("box-1/studio_0009.jpg", "imprint", "FROM 1889 TO 1907", "Dorrington & Daughter, Quay Street, Pellering", "", JUDITH),
    ("box-1/studio_0010.jpg", "imprint", "FROM 1889 TO 1907", "Dorrington & Daughter, Quay Street, Pellering", "", JUDITH),
    ("box-1/studio_0011.jpg", "imprint", "FROM 1889 TO 1907", "Dorrington & Daughter, Quay Street, Pellering", "", JUDITH),
    ("box-1/ferry_0001.jpg", "postmark", "18 JUL 1905", "Pellering 18 Jul 1905", "", JUDITH),
    MISREAD,
    ("letters/war_0002.jpg", "written", "14 NOV 1917", "Dear Mother, I am well and they feed us. Kiss Nora. Your Felix. 14 Nov. 1917", "", JUDITH),
    ("letters/war_0002.jpg", "postmark", "15 NOV 1917", "Field post 15 Nov 1917", "", JUDITH),
    ("box-1/wedding_0001.jpg", "event", "F14:MARR", "My brother Ambrose's wedding", "", NORA),
    ("box-1/wedding_0001.jpg", "imprint", "FROM 1908 TO 1934", "Atelier Hesper, Bridge Place, Pellering", "", JUDITH),
    ("tin/bridge_0001.jpg", "taken", "6 SEP 1931", "the day the bridge was opened", "", NORA),
    ("tin/snap_0001.jpg", "postmark", "7 AUG 1934", "Sandle Point 7 Aug 1934", "", JUDITH),
    ("tin/snap_0006.jpg", "inscription", "", "Mother is 81, Aunt Rosamund 72. Tilly behind them", "", JUDITH),
    ("tin/wedding_0002.jpg", "event", "F19:MARR", "my parents' wedding", "", JUDITH),
    ("tin/snap_0004.jpg", "recollection", "1940", "Theodor's only leave", "", PETER),
    ("tin/snap_0008.jpg", "recollection", "ABT 1951", "Judith's first Christmas, or so I was told", "", PETER),
    ("tin/snap_0010.jpg", "print-stamp", "AUG 1957", "AUG 57 in the border", "", JUDITH),
    ("from-port-lissom/port_0003.jpg", "print-stamp", "JUL 1958", "JUL 58 in the border", "", JUDITH),
    ("colour/colour_0001.jpg", "print-stamp", "SEP 1964", "SEP 64 in the border", "", JUDITH),
    ("slides/slide_0002.jpg", "print-stamp", "JUL 1967", "JUL 67 on the mount", "", JUDITH),
    ("colour/colour_0003.jpg", "event", "F24:MARR", "Peter and Lena's wedding", "", JUDITH),
    ("slides/slide_0003.jpg", "taken", "AUG 1971", "the summer the cousins came", "", JUDITH),
)  # fmt: skip
"""photo, kind, date, text, trust, informant."""

WRONG_TIE = ("tin/snap_0003.jpg", "same-occasion", "tin/snap_0001.jpg", "", PETER)
"""Brose was born in 1937; the other card was posted from Sandle Point in August 1934."""

TIES: tuple[tuple[str, ...], ...] = (
    *((shot.file, "part-of", ALBUM_PAGE, "", JUDITH) for shot in ALBUM),
    (COPY, "copy-of", COPIED, "", NORA),
    ("album-green/outing_0001.jpg", "before", "album-green/outing_0002.jpg", "", NORA),
    ("album-green/outing_0002.jpg", "before", "album-green/outing_0003.jpg", "", NORA),
    ("box-1/studio_0001.jpg", "before", "box-1/studio_0003.jpg", "", NORA),
    ("letters/war_0001.jpg", "before", "letters/war_0002.jpg", "", NORA),
    ("tin/snap_0009.jpg", "after", "tin/snap_0008.jpg", "", JUDITH),
    ("colour/colour_0004.jpg", "before", "colour/colour_0006.jpg", "", JUDITH),
    WRONG_TIE,
)
"""photo, relation, other, trust, informant."""

MISTAKES: tuple[tuple[str, str, str], ...] = (
    ("links.csv", f"{WRONG_NAME[0]} {WRONG_NAME[2]}", "a wrong name on a face: Ambrose of the Ferry was born in 1890; the lock-keeper beside him died in 1889. It is his cousin of the same name (I17)."),
    ("statements.csv", f"{MISREAD[0]} inscription AUG 1900", "a digit misread: the back says August 1909. Nora was born in 1902 and Maud in 1905."),
    ("family.ged", "I13 DEAT 19 JUL 1919", "a year mistyped in the tree: Clemence died on 19 July 1949. She is in the wedding of 1921, on the bridge in 1931, at the wedding of 1948."),
    ("relations.csv", f"{WRONG_TIE[0]} same-occasion {WRONG_TIE[2]}", "a relation that cannot be: one card was posted in August 1934, and Brose, in the other, was born in 1937."),
)  # fmt: skip


def object_rows() -> Iterator[Row]:
    """photo, process, format, container, title, place, maker, note."""
    for shot in SHOTS:
        yield [
            shot.file,
            shot.process,
            shot.format,
            container(shot.file),
            shot.title,
            shot.where,
            shot.maker,
            shot.note,
        ]
    yield [
        COPY,
        "gelatin-silver",
        "white-border",
        container(COPY),
        "Copy of the ferryman's portrait",
        "",
        "",
        "made for Aunt Rosamund",
    ]
    yield [ALBUM_PAGE, "", "", container(ALBUM_PAGE), "The green album, page 3", "", "", ""]


def container(file: str) -> str:
    """The container of a scan, in the family's words."""
    names = {"box-1": "Willow box", "letters": "Bundle of letters", "from-port-lissom": "Envelope from Port Lissom", "album-green": "Green album",
             "tin": "Biscuit tin", "slides": "Slide box", "colour": "Envelope of colour prints"}  # fmt: skip
    return names[file.split("/")[0]]


def join_rows() -> Iterator[Row]:
    """first, other, side."""
    for file, back in BACKS.items():
        yield [back.front, file, "verso"]
    yield [RESCANNED, RESCAN, "recto"]


def date_rows() -> Iterator[Row]:
    """photo, date: the true day of every photograph."""
    yield from ([shot.file, shot.date] for shot in SHOTS)
    yield [COPY, BY_FILE[COPIED].date]


def write_sheet(path: Path, columns: str, rows: Iterable[Iterable[str]]) -> None:
    """Write one CSV."""
    path.parent.mkdir(exist_ok=True)
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(columns.split(","))
        writer.writerows(rows)


def write_all(folder: Path = HERE) -> None:
    """Write every spreadsheet of the sample."""
    link_columns = "photo,person,left,top,width,height,age_from,age_to,age_basis,role,trust,informant,why"
    write_sheet(folder / "links.csv", link_columns, [*link_rows(), *stated_rows()])
    write_sheet(folder / "statements.csv", "photo,kind,date,text,trust,informant", STATEMENTS)
    write_sheet(folder / "relations.csv", "photo,relation,other,trust,informant", TIES)
    write_sheet(folder / "objects.csv", "photo,process,format,container,title,place,maker,note", object_rows())
    write_sheet(folder / "joins.csv", "first,other,side", join_rows())
    informants = [
        [NORA, "I27", "Aunt Nora: knew the old ones; her copybook of 1983"],
        [PETER, "I54", "Uncle Peter: remembers much, mixes up some"],
        [JUDITH, "I68", "scanned the box; judges by looks"],
    ]
    write_sheet(folder / "informants.csv", "name,person,note", informants)
    write_sheet(
        folder / "outside.csv",
        "name,born,died,note",
        ([p.name, p.born or "", p.died or "", p.note] for p in OUTSIDE.values()),
    )
    write_sheet(folder / "truth" / "mistakes.csv", "file,what,why", MISTAKES)
    write_sheet(folder / "truth" / "dates.csv", "photo,date", date_rows())
    write_sheet(folder / "truth" / "births.csv", "person,date", ([p.id, p.birth] for p in BY_ID.values()))


if __name__ == "__main__":
    write_all()
