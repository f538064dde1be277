"""Importing a tree of 100,000 people, against what the parser alone takes for the same file.

    python tests/bench/bench_tree.py [PEOPLE]

Each side runs in a process of its own, in one run of this script: `Archive.import_tree` into a fresh archive, and
python-gedcom's `Parser().parse_file`. Bounds: 1.4 times the time, 300 MB of memory at the peak.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

IMPORT = """
import resource, sys, time
from pathlib import Path
from kinphoto.archive import Archive
archive = Archive.create(Path(sys.argv[2]))
start = time.perf_counter()
archive.import_tree(Path(sys.argv[1]))
print(time.perf_counter() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""
PARSE = """
import resource, sys, time
from gedcom.parser import Parser
start = time.perf_counter()
Parser().parse_file(sys.argv[1])
print(time.perf_counter() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
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


def run(program: str, *arguments: object) -> tuple[float, float]:
    """Seconds and peak megabytes of a program in a process of its own."""
    command = [sys.executable, "-c", program, *map(str, arguments)]
    root = str(Path(__file__).parents[2])
    env = {**os.environ, "PYTHONPATH": os.pathsep.join([root, os.environ.get("PYTHONPATH", "")])}
    seconds, megabytes = subprocess.run(command, check=True, capture_output=True, text=True, env=env).stdout.split()
    return float(seconds), float(megabytes)


def main() -> None:
    """Write the file, run both, print the ratios."""
    people = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder, "tree.ged")
        write(tree, people)
        print(f"{people:,} people, {tree.stat().st_size / 1e6:.0f} MB")
        parse, parse_mb = run(PARSE, tree)
        ours, ours_mb = run(IMPORT, tree, Path(folder, "archive"))
    print(f"{'':24}{'seconds':>10}{'peak MB':>10}")
    print(f"{'parser alone':24}{parse:10.1f}{parse_mb:10.0f}")
    print(f"{'import':24}{ours:10.1f}{ours_mb:10.0f}")
    print(f"{'ratio (bound 1.4)':24}{ours / parse:10.2f}{'bound 300':>10}")


if __name__ == "__main__":
    main()
