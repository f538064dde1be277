"""Small trees, each named after what is odd about it, and what must come out of each.

Those whose text matters lie in `tests/data/trees/`; those whose bytes matter are made here. All were written for these
tests from the specifications of GEDCOM 5.5, 5.5.1, 5.5.5 and 7.0 and from habits of programs, from memory; the people
are invented. What must come out stands in `expected.txt` beside the files, in the words of `told`.
"""

from __future__ import annotations

import gzip
import io
import tempfile
import zipfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.reason.model.span import Span, iso
from kinphoto.store import tables as t

FOLDER = Path(__file__).parents[1] / "data" / "trees"
EXPECTED = FOLDER / "expected.txt"
LETTERS = "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR {}\n0 @I1@ INDI\n1 NAME {} /{}/\n1 BIRT\n2 DATE 1900\n0 TRLR\n"


def trees() -> dict[str, bytes]:
    """Every tree by its name, which ends in what kind of file it is."""
    found = {path.name: path.read_bytes() for path in sorted(FOLDER.glob("*.ged"))}
    return found | dict(_made())


def _made() -> Iterator[tuple[str, bytes]]:
    """Trees whose bytes matter."""
    for name, declared, codec, mark in (
        ("utf-8", "UTF-8", "utf-8", b""),
        ("utf-8-with-a-mark", "UTF-8", "utf-8-sig", b""),
        ("utf-16-le-with-a-mark", "UNICODE", "utf-16-le", b"\xff\xfe"),
        ("utf-16-be-with-a-mark", "UNICODE", "utf-16-be", b"\xfe\xff"),
        ("utf-16-le", "UNICODE", "utf-16-le", b""),
        ("utf-16-be", "UNICODE", "utf-16-be", b""),
        ("windows-1252", "ANSI", "cp1252", b""),
        ("dos-437", "IBMPC", "cp437", b""),
        ("dos-850", "MSDOS", "cp850", b""),
        ("macintosh", "MACINTOSH", "mac-roman", b""),
        ("iso-8859-1", "ISO-8859-1", "latin-1", b""),
        ("utf-8-that-says-ansel", "ANSEL", "utf-8", b""),
        ("utf-8-that-says-ansi", "ANSI", "utf-8", b""),
        ("utf-8-that-says-ascii", "ASCII", "utf-8", b""),
        ("utf-8-that-says-nothing-known", "KLINGON", "utf-8", b""),
        ("windows-1252-that-says-utf-8", "UTF-8", "cp1252", b""),
        ("utf-16-that-says-utf-8", "UTF-8", "utf-16-le", b"\xff\xfe"),
    ):
        yield f"letters-{name}.ged", mark + LETTERS.format(declared, "Zoé", "Grünwald").encode(codec)
    ansel = LETTERS.format("ANSEL", "Zo^e", "Gr~unwald").encode()
    yield "letters-ansel.ged", ansel.replace(b"^", b"\xe2").replace(b"~", b"\xe8")
    for declared, given, family, codec in (
        ("WINDOWS-1250", "Łucja", "Żak", "cp1250"), ("CP1251", "Иван", "Петров", "cp1251"),
        ("windows-1253", "Γιώργος", "Νίκος", "cp1253"), ("ISO-8859-2", "Łucja", "Żak", "iso8859-2"),
    ):  # fmt: skip
        yield f"letters-of-{declared.lower()}.ged", LETTERS.format(declared, given, family).encode(codec)
    russian = LETTERS.format("ANSI", "Иван", "Петров").replace("0 @I1@", "1 LANG Russian\n0 @I1@", 1)
    yield "letters-ansi-in-russian.ged", russian.encode("cp1251")
    plain = LETTERS.format("UTF-8", "Ada", "Marsh")
    yield "line-ends-cr.ged", plain.replace("\n", "\r").encode()
    yield "line-ends-crlf.ged", plain.replace("\n", "\r\n").encode()
    ends = ("\r\n", "\n", "\r")
    yield "line-ends-mixed.ged", "".join(line + ends[n % 3] for n, line in enumerate(plain.splitlines())).encode()
    yield "line-ends-cr-cr-lf.ged", plain.replace("\n", "\r\r\n").encode()
    yield "nul-bytes.ged", plain.replace("Ada", "A\0da").encode()
    stray = LETTERS.format("UTF-8", "Zoé", "Grünwald").encode()
    yield "one-stray-letter.ged", stray.replace(b"1 BIRT", b"1 NOTE Caf\xe9\n1 BIRT")
    yield "a-line-of-100-kb.ged", plain.replace("1 BIRT", f"1 NOTE {'long ' * 20000}\n1 BIRT").encode()
    yield "a-line-of-3-mb.ged", plain.replace("1 BIRT", f"1 NOTE {'long ' * 600000}\n1 BIRT").encode()
    yield "packed.gdz", _package("gedcom.ged", plain.encode())
    yield "packed-under-another-name.zip", _package("gedcom.ged", plain.encode())
    yield "packed.ged.gz", gzip.compress(plain.encode(), mtime=0)


def refused() -> dict[str, bytes]:
    """What is no tree, by name."""
    swelling = io.BytesIO()
    with zipfile.ZipFile(swelling, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as package:
        package.writestr("gedcom.ged", b"0 HEAD\n1 NOTE " + b"x" * (65 << 20))
    package = _package("gedcom.ged", LETTERS.format("UTF-8", "Ada", "Marsh").encode())
    damaged = bytearray(package)
    damaged[60] ^= 0x55
    locked = bytearray(package)
    for at in (package.index(b"PK\x03\x04") + 6, package.index(b"PK\x01\x02") + 8):
        locked[at] |= 1
    newer = bytearray(package)
    newer[package.index(b"PK\x01\x02") + 6] = 255  # "version needed to extract" (APPNOTE.TXT 4.4.3)
    return {
        "nothing.ged": b"",
        "blanks.ged": b" \r\n\n",
        "a-letter.ged": b"Dear Ada,\nthank you for the cake.\n",
        "a-picture.ged": b"\xff\xd8\xff\xe0\0\x10JFIF",
        "a-spreadsheet.ged": b"id,name,born\n1,Ada,1900\n",
        "a-page.ged": b"<!DOCTYPE html><html></html>",
        "noise.ged": bytes(range(256)) * 10,
        "a-package-without-its-tree.gdz": _package("photo.jpg", b""),
        "a-package-that-swells.gdz": swelling.getvalue(),
        "a-damaged-package.gdz": bytes(damaged),
        "half-a-package.gdz": package[: len(package) // 2],
        "a-locked-package.gdz": bytes(locked),
        "a-package-of-the-future.gdz": bytes(newer),
        "no-package.gdz": b"0 HEAD\n1 GEDC\n2 VERS 7.0\n0 TRLR\n",
        "half-compressed.ged.gz": gzip.compress(b"0 HEAD\n" * 1000, mtime=0)[:30],
    }


def _package(name: str, data: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr(name, data)
    return out.getvalue()


def told(folder: Path, name: str, data: bytes) -> list[str]:
    """What an archive makes of a tree, line by line: the file, its people, families and events, then the warnings."""
    archive = Archive.create(folder / "archive")
    path = folder / name
    path.write_bytes(data)
    done = archive.tree.import_file(path)
    with archive.reading() as connection:
        rows = {table: connection.execute(select(table).order_by(table.c.id)).mappings().all() for table in TABLES}
    warnings = (f"! {line}: {text}" for line, text in done.warnings)
    return [
        f"GEDCOM {done.version or '?'} in {done.encoding}",
        *_people(rows),
        *_families(rows),
        *_events(rows),
        *warnings,
    ]


def expected() -> dict[str, list[str]]:
    """What must come out of each tree, by its name."""
    parts = EXPECTED.read_text(encoding="utf-8").split("== ")[1:]
    return {name: body.rstrip("\n").split("\n") for name, _, body in (part.partition("\n") for part in parts)}


Rows = dict[Any, Sequence[Any]]
TABLES = (t.person, t.name, t.family, t.partner, t.parent_link, t.event)


def _people(rows: Rows) -> Iterator[str]:
    for p in rows[t.person]:
        names = [
            " ".join(filter(None, (n["text"], n["kind"] and f"({n['kind']})", n["nickname"] and f'"{n["nickname"]}"')))
            + (f" = {n['given']} | {n['surname']}" if n["surname"] or n["given"] else "")
            for n in rows[t.name]
            if n["person_id"] == p["id"]
        ]
        living = {None: "", 0: ", dead", 1: ", living"}[p["living"]]
        uid = f", {p['uid']}" if p["uid"] else ""
        note = f", noted {p['note'][:60]!r}" if p["note"] else ""
        yield f"{p['code']} {p['sex']} {'; '.join(names)}{living}{uid}{note}".rstrip()


def _families(rows: Rows) -> Iterator[str]:
    codes = {p["id"]: p["code"] for p in rows[t.person]}
    for f in rows[t.family]:
        partners = [codes[x["person_id"]] for x in rows[t.partner] if x["family_id"] == f["id"]]
        children = [
            f"{codes[x['child_id']]} of {codes[x['parent_id']]} by {x['pedigree']}"
            for x in rows[t.parent_link]
            if x["family_id"] == f["id"]
        ]
        yield f"{f['code']} {' + '.join(partners)}" + (f" > {', '.join(children)}" if children else "")


def _events(rows: Rows) -> Iterator[str]:
    owners = {("person_id", p["id"]): p["code"] for p in rows[t.person]}
    owners |= {("family_id", f["id"]): f["code"] for f in rows[t.family]}
    for e in rows[t.event]:
        owner = next(owners[key, e[key]] for key in ("person_id", "family_id") if e[key] is not None)
        span = Span(e["first"], e["last"])
        when = "" if span == Span() else f" {iso(span.first) or ''}..{iso(span.last) or ''}"
        doubt = " doubtful" if e["doubtful"] else ""
        rest = "".join(f" {word}" for word in (e["kind"], e["place"]) if word)
        quality = "" if e["quality"] is None else f" quality {e['quality']}"
        yield f"{owner}:{e['tag']}{rest}{when}{doubt}{quality} [{e['date_text']}] line {e['line']}"


def main() -> None:
    """Write what comes out of each tree by now; the difference is for reading."""
    parts = []
    for name, data in trees().items():
        with tempfile.TemporaryDirectory() as folder:
            parts.append(f"== {name}\n" + "\n".join(told(Path(folder), name, data)) + "\n")
    EXPECTED.write_text("\n".join(parts), encoding="utf-8")


if __name__ == "__main__":
    main()
