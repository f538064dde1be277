"""Importing a tree of 100,000 people, against what the parser alone takes for the same file; again; and checking one.

    python tests/bench/bench_tree.py [PEOPLE]

Each side runs in a process of its own, in one run of this script: `Archive.tree.import_file` into a fresh archive, the
same file once more, the file with one name changed, and python-gedcom's `Parser().parse_file`. Bounds: 1.4 times the
time and 300 MB of memory at the peak for the first; 1.2 times the first for the second. `Archive.tree.check` looks
through a tree of as many people in which one date in a hundred is off by five to sixty years; bound 10 s for 100,000.
Times are those of the processor, so that what else the machine does counts little.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from making import make_family, write_gedcom

IMPORT = """
import resource, sys, time
from pathlib import Path
from kinphoto.archive import Archive
archive = Archive.create(Path(sys.argv[-1]))
for tree in sys.argv[1:-1]:
    start = time.process_time()
    archive.tree.import_file(Path(tree))
    print(time.process_time() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""
CHECK = """
import resource, sys, time
from pathlib import Path
from kinphoto.archive import Archive
archive = Archive.create(Path(sys.argv[2]))
archive.tree.import_file(Path(sys.argv[1]))
start = time.process_time()
found = archive.tree.check()
print(time.process_time() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
print(len(found.impossible), len(found.unlikely))
"""
PARSE = """
import resource, sys, time
from gedcom.parser import Parser
start = time.process_time()
Parser().parse_file(sys.argv[1])
print(time.process_time() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""
GIVEN = "Ada Bert Cora Dirk Elsa Finn Gerd Hanne Ivo Jutta Karl Lena Max Nora Otto Paula Quirin Rosa Sven Thea".split()
SYLLABLES = "bra ken dorf holm stein lund berg wick mer tal ost fell gar hus rin ström mül quist vek ån".split()
MONTHS = "JAN FEB MAR APR MAY JUN JUL AUG SEP OCT NOV DEC".split()


def person(rng: random.Random, number: int, people: int) -> Iterator[str]:
    """One person's record: four dated events with places, two of them with a source, an occupation, a note."""
    surname = "".join(rng.choices(SYLLABLES, k=3)).title()
    given = " ".join(rng.choices(GIVEN, k=2))
    born = 1700 + number * 280 // people
    yield f"0 @I{number}@ INDI"
    yield f"1 NAME {given} /{surname}/"
    yield f"2 GIVN {given}"
    yield f"2 SURN {surname}"
    yield f"1 SEX {'MF'[number % 2]}"
    for tag, after in (("BIRT", 0), ("CHR", 0), ("DEAT", 70), ("BURI", 70)):
        yield f"1 {tag}"
        yield f"2 DATE {date(rng, born + after)}"
        yield f"2 PLAC {rng.choice(SYLLABLES).title()}{rng.choice(SYLLABLES)}, {rng.choice(SYLLABLES).title()}"
        if tag in ("BIRT", "DEAT"):
            yield f"2 SOUR @S{rng.randrange(500)}@"
            yield f"3 PAGE {rng.randrange(400)}, entry {rng.randrange(90)}"
            yield f"3 QUAY {rng.randrange(4)}"
    yield f"1 OCCU {rng.choice(SYLLABLES)}"
    yield f"1 NOTE {' '.join(rng.choices(SYLLABLES, k=12))}"
    yield f"2 CONT {' '.join(rng.choices(SYLLABLES, k=12))}"
    yield f"2 CONC {' '.join(rng.choices(SYLLABLES, k=6))}"
    yield f"1 _UID {rng.getrandbits(128):032X}"
    if number >= 4:
        yield f"1 FAMC @F{number // 4}@"
    yield f"1 FAMS @F{(number + 1) // 2}@"
    yield "1 CHAN"
    yield f"2 DATE {date(rng, 2015).removeprefix('ABT ')}"


def date(rng: random.Random, year: int) -> str:
    """Mostly days, some years, some approximate."""
    kind = rng.random()
    if kind < 0.7:
        return f"{rng.randint(1, 28)} {rng.choice(MONTHS)} {year}"
    return str(year) if kind < 0.85 else f"ABT {year}"


def write(path: Path, people: int) -> None:
    """A tree in which people 2f - 1 and 2f are the partners of family f, whose children are 4f to 4f + 3."""
    rng = random.Random(1)
    with path.open("w", encoding="utf-8") as file:
        file.write("0 HEAD\n1 SOUR bench\n1 GEDC\n2 VERS 5.5.1\n2 FORM LINEAGE-LINKED\n1 CHAR UTF-8\n")
        for number in range(1, people + 1):
            file.writelines(line + "\n" for line in person(rng, number, people))
        for family in range(1, people // 2 + 1):
            file.write(f"0 @F{family}@ FAM\n1 HUSB @I{2 * family - 1}@\n1 WIFE @I{2 * family}@\n")
            file.writelines(f"1 CHIL @I{child}@\n" for child in range(4 * family, 4 * family + 4) if child <= people)
            file.write(f"1 MARR\n2 DATE {date(rng, 1725 + family * 560 // people)}\n2 PLAC {rng.choice(SYLLABLES)}\n")
        file.writelines(f"0 @S{source}@ SOUR\n1 TITL Register {source}\n" for source in range(500))
        file.write("0 TRLR\n")


def write_with_slips(path: Path, people: int) -> None:
    """A likely tree in which one person in a hundred has a wrong date."""
    everybody, homes = make_family(people, 3)
    rng = random.Random(5)
    for one in rng.sample(everybody, people // 100):
        days = int(rng.choice((-1, 1)) * rng.uniform(5, 60) * 365.25)
        if rng.random() < 0.5:
            one.born += days
        else:
            one.died += days
    write_gedcom(path, everybody, homes)


def run(program: str, *arguments: object) -> list[tuple[float, float]]:
    """The pairs of figures that a program prints, run in a process of its own."""
    command = [sys.executable, "-c", program, *map(str, arguments)]
    root = str(Path(__file__).parents[2])
    env = {**os.environ, "PYTHONPATH": os.pathsep.join([root, os.environ.get("PYTHONPATH", "")])}
    printed = subprocess.run(command, check=True, capture_output=True, text=True, env=env).stdout.splitlines()
    return [(float(one), float(other)) for one, other in (line.split() for line in printed)]


def main() -> None:
    """Write the files, run all, print the ratios."""
    people = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as folder:
        tree, newer, slips = (Path(folder, name) for name in ("tree.ged", "newer.ged", "slips.ged"))
        write(tree, people)
        newer.write_bytes(tree.read_bytes().replace(b"1 NAME ", b"1 NAME Zoe ", 1))
        write_with_slips(slips, people)
        print(f"{people:,} people, {tree.stat().st_size / 1e6:.0f} MB")
        [(parse, parse_mb)] = run(PARSE, tree)
        (ours, ours_mb), (again, _), (changed, changed_mb) = run(IMPORT, tree, tree, newer, Path(folder, "archive"))
        (check, check_mb), (impossible, unlikely) = run(CHECK, slips, Path(folder, "checked"))
    print(f"{'':36}{'seconds':>10}{'peak MB':>10}{'ratio':>10}")
    print(f"{'parser alone':36}{parse:10.1f}{parse_mb:10.0f}")
    print(f"{'import (bounds 1.4 and 300 MB)':36}{ours:10.1f}{ours_mb:10.0f}{ours / parse:10.2f}")
    print(f"{'the same file again (1.2 imports)':36}{again:10.1f}{'':10}{again / ours:10.2f}")
    print(f"{'one name changed (imports)':36}{changed:10.1f}{changed_mb:10.0f}{changed / ours:10.2f}")
    print(f"{'tree check (bound 10 s)':36}{check:10.1f}{check_mb:10.0f}")
    print(f"found: {impossible:.0f} that cannot be, {unlikely:.0f} unlikely")


if __name__ == "__main__":
    main()
