"""Changes invented trees at random, imports them again, and looks whose pictures each person has: nobody's may go to
somebody else, and whoever has lost theirs must be asked about.

    PYTHONPATH=tests/tree python tests/bench/fuzz_tree_again.py [TREES] [SEED]

Who is who is known, since the script makes the changes: births that are corrected by up to 112 years, names spelled
anew, people deleted whose ids go to a new sibling, newcomers in the middle or at the end, ids numbered anew in part or
all, ids exchanged between siblings. Printed is, of the pictures of people who are still in the tree, how many stayed
with them, how many were left with the old record and asked about, how many were left without a word, and how many went
to somebody else. After each tree everything is undone and must be as it was, row for row.
"""

from __future__ import annotations

import dataclasses
import random
import re
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from again import GIVEN, One, Scene, Tree, generations
from sqlalchemy import select

from kinphoto.store import tables as t

PICTURED = 30
JOURNAL = {"change", "change_row", "counter", "setting"}


class Edited:
    """A tree that is changed step by step. `now` says under which id each person of before is in it."""

    def __init__(self, tree: Tree, dice: random.Random) -> None:
        self.people = {one.code: one for one in tree[0]}
        self.families = {code: (list(partners), list(children)) for code, (partners, children) in tree[1].items()}
        self.now: dict[str, str | None] = {one.code: one.code for one in tree[0]}
        self.dice = dice

    def tree(self) -> Tree:
        """As it is by now."""
        return list(self.people.values()), self.families

    def birth(self) -> None:
        """Correct a birth by years or by decades."""
        one = self._any()
        off = self.dice.choice((1, 12, -12, 30, -30, 100, -112))
        self.people[one.code] = dataclasses.replace(
            one, born=re.sub(r"\d{4}", lambda year: str(int(year[0]) + off), one.born)
        )

    def spelling(self) -> None:
        """Spell a name anew, its given name and its surname."""
        one = self._any()
        given, _, surname = one.name.strip("/").partition(" /")
        given = self.dice.choice((f"{given}e Louise", f"{given[:-1]}ie", f"{given[0]}h{given[1:]}", f"Anna {given}"))
        surname = surname.replace("o", "oe").replace("i", "y")
        self.people[one.code] = dataclasses.replace(one, name=f"{given} /{surname}/")

    def both(self) -> None:
        """The same person twice."""
        self.birth()
        self.spelling()

    def deleted(self) -> None:
        """Delete somebody; now and then a new sibling, or somebody new in their place in the family, gets the id."""
        one = self._any()
        sibling = self.dice.random() < 0.6
        del self.people[one.code]
        self._is_now(one.code, None)
        if sibling:
            year = int(re.search(r"\d{4}", one.born)[0]) + self.dice.randint(-8, 8)  # type: ignore[index]
            sex = self.dice.choice("FM")
            surname = one.name.split("/")[1]
            self.people[one.code] = One(
                one.code, f"{self.dice.choice(GIVEN[sex].split())} /{surname}/", f"{year}", sex=sex
            )
            for partners, _ in self.families.values():
                partners[:] = [who for who in partners if who != one.code]  # the sibling married nobody
        else:
            for members in self.families.values():
                for side in members:
                    side[:] = [who for who in side if who != one.code]

    def newcomer(self) -> None:
        """A new child at the end."""
        code = f"I{max(int(code[1:]) for code in self.people) + 1}"
        family = self.dice.choice(list(self.families.values()))
        sex = self.dice.choice("FM")
        self.people[code] = One(code, f"{self.dice.choice(GIVEN[sex].split())} /Holm/", "1925", sex=sex)
        family[1].append(code)

    def inserted(self) -> None:
        """A new child in the middle, and everybody behind it has the next number."""
        at = self.dice.randint(1, len(self.people))
        self.renumbered(lambda n: n + (n >= at))
        family = self.dice.choice(list(self.families.values()))
        sex = self.dice.choice("FM")
        self.people[f"I{at}"] = One(f"I{at}", f"{self.dice.choice(GIVEN[sex].split())} /Holm/", "1925", sex=sex)
        family[1].append(f"I{at}")

    def reversed(self) -> None:
        """Everybody has another number."""
        last = max(int(code[1:]) for code in self.people)
        self.renumbered(lambda n: last + 1 - n)

    def exchanged(self) -> None:
        """Two siblings have each other's number."""
        siblings = [children for _, children in self.families.values() if len(children) > 1]
        if siblings:
            one, other = self.dice.sample(self.dice.choice(siblings), 2)
            swap = {int(one[1:]): int(other[1:]), int(other[1:]): int(one[1:])}
            self.renumbered(lambda n: swap.get(n, n))

    def renumbered(self, new) -> None:  # type: ignore[no-untyped-def]
        """Give everybody the number that `new` makes of theirs."""
        to = {code: f"I{new(int(code[1:]))}" for code in self.people}
        self.people = {to[c]: dataclasses.replace(one, code=to[c]) for c, one in self.people.items()}
        self.families = {
            f: ([to[c] for c in partners], [to[c] for c in children])
            for f, (partners, children) in self.families.items()
        }
        self.now = {was: None if code is None else to[code] for was, code in self.now.items()}

    def _any(self) -> One:
        return self.people[self.dice.choice(list(self.people))]

    def _is_now(self, code: str, new: str | None) -> None:
        self.now = {was: new if at == code else at for was, at in self.now.items()}


KINDS = {
    "corrected": (("birth", "spelling"), (6, 14)),
    "corrected twice": (("birth", "spelling", "both"), (3, 8)),
    "ids given again": (("deleted", "birth", "spelling", "newcomer"), (4, 10)),
    "inserted": (("inserted", "birth", "spelling", "deleted"), (2, 8)),
    "exchanged": (("exchanged", "birth", "spelling"), (2, 8)),
    "numbered anew": (("reversed", "birth", "spelling", "deleted"), (3, 9)),
}


def one_tree(seed: int, kind: str, folder: Path, counts: Counter[tuple[str, str]]) -> list[str]:
    """Change one tree and import it; returns what is not allowed."""
    dice = random.Random(seed)
    tree = generations(seed, dice.choice((8, 30, 80, 80)))
    pictured = [one.code for one in dice.sample(tree[0], min(PICTURED, len(tree[0])))]
    scene = Scene(folder, tree, pictured)
    before = rows(scene)
    edited = Edited(tree, dice)
    ways, (least, most) = KINDS[kind]
    for _ in range(dice.randint(least, most) if len(tree[0]) > 40 else 1):
        getattr(edited, dice.choice(ways))()
    done = scene.bring(edited.tree())
    asked = {one.code for one in done.uncertain}
    wrong = []
    for was in pictured:
        code, name, gone = scene.shows(was)
        true = edited.now[was]
        found = (
            "wrong" if not gone and code != true
            else "stayed" if code == true
            else "gone" if true is None
            else "asked" if code in asked
            else "unasked"
        )  # fmt: skip
        counts[kind, found] += 1
        if found == "wrong":
            wrong.append(f"{kind}, seed {seed}: {was} ({true}) is {code} {name}")
    if done.altered:
        scene.archive.statements.undo(None)
    if rows(scene) != before:
        wrong.append(f"{kind}, seed {seed}: not as it was after undo")
    scene.archive.engine.dispose()
    return wrong


def rows(scene: Scene) -> dict[str, list[object]]:
    """Every row of the archive but the journal's."""
    with scene.archive.reading() as connection:
        return {
            table.name: sorted(map(repr, connection.execute(select(table)).all()))
            for table in t.metadata.sorted_tables
            if table.name not in JOURNAL
        }


def main() -> None:
    """Run it and print the counts."""
    trees = int(sys.argv[1]) if len(sys.argv) > 1 else 600
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    start = time.perf_counter()
    counts: Counter[tuple[str, str]] = Counter()
    wrong: list[str] = []
    for number in range(trees):
        kind = list(KINDS)[number % len(KINDS)]
        with tempfile.TemporaryDirectory(prefix="fuzz-again-") as folder:
            wrong += one_tree(first + number, kind, Path(folder), counts)
    for kind in KINDS:
        print(
            f"{kind:18}", *(f"{counts[kind, how]:6} {how}" for how in ("stayed", "asked", "unasked", "gone", "wrong"))
        )
    print(f"{trees} trees in {time.perf_counter() - start:.0f} s; not allowed: {len(wrong)}")
    for line in wrong[:40]:
        print(f"  {line}")
    sys.exit(bool(wrong))


if __name__ == "__main__":
    main()
