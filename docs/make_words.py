"""Writes all that people read into one catalogue a surface, to be read through or translated.

Into docs/words/, or the folder that is named:      python docs/make_words.py
What is wrong with a translation, line by line:     python docs/make_words.py --check de.po

The catalogues follow from the code, so they are not kept with it. They are templates of GNU gettext: of each message
the files in which it stands, and no more, so that two of them can be compared. What `TRANSLATED` names is shown in
another language where it has a catalogue; the others are for reading.
"""

from __future__ import annotations

import ast
import sys
import tomllib
from collections import defaultdict
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po
from jinja2 import Environment, FileSystemLoader

from kinphoto.translation.markup import Message as Words
from kinphoto.translation.markup import NotTheSameError
from kinphoto.translation.modules import SURFACES
from kinphoto.translation.python import file_messages, fills_in_the_same
from kinphoto.translation.scripts import script_messages
from kinphoto.translation.templates import exchanged, template_messages

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "docs" / "words"

TEMPLATES = {
    "pages": ["kinphoto/web/templates"],
    "given": ["kinphoto/share/site", "kinphoto/archive/keeping/templates"],
}
"""The folders of templates of a surface."""

SCRIPTS = {"scripts": "kinphoto/web/static", "given": "kinphoto/share/site"}

TRANSLATED = ("pages", "given", "scripts", *SURFACES)
"""Whose messages are looked up when a catalogue in another language is there."""

PROCESSES = "kinphoto/reason/processes.toml"

HEADER = "# What people read of kinphoto. Written by docs/make_words.py."

Found = tuple[str, str, str | None, str]
"""Surface, words, their plural, and the file."""


def found() -> Iterator[Found]:
    """All that people read."""
    for surface, folders in TEMPLATES.items():
        for folder in folders:
            environment = Environment(loader=FileSystemLoader(ROOT / folder), trim_blocks=True, lstrip_blocks=True)
            for name, _, text, plural in template_messages(environment):
                yield surface, text, plural, f"{folder}/{name}"
    for surface, folder in SCRIPTS.items():
        for path in sorted((ROOT / folder).glob("*.js")):
            for _, text in script_messages(path.read_text(encoding="utf-8")):
                yield surface, text, None, f"{folder}/{path.name}"
    for entry in tomllib.loads((ROOT / PROCESSES).read_text(encoding="utf-8")).values():
        yield from (("sentences", text, None, PROCESSES) for text in (entry["title"], *entry.get("cautions", [])))
    for path in sorted((ROOT / "kinphoto").rglob("*.py")):
        name = path.relative_to(ROOT / "kinphoto").as_posix()
        for surface, said in file_messages(name, ast.parse(path.read_text(encoding="utf-8"))):
            yield surface, said.text, said.plural, f"kinphoto/{name}"


def catalogues() -> dict[str, Catalog]:
    """The catalogue of each surface."""
    made: dict[str, Catalog] = {}
    where: defaultdict[tuple[str, str, str | None], set[str]] = defaultdict(set)
    for surface, text, plural, file in found():
        where[surface, text, plural].add(file)
    for (surface, text, plural), files in sorted(where.items(), key=lambda each: (each[0][:2], each[0][2] or "")):
        into = made.setdefault(surface, Catalog(project="kinphoto", header_comment=HEADER, fuzzy=False))
        message = into.add((text, plural) if plural else text, locations=[(file, 1) for file in sorted(files)])
        message.flags.clear()  # "%" and braces are no formats of Python here
    return made


def written(book: Catalog) -> bytes:
    """A catalogue as a file, without the day on which it was made."""
    file = BytesIO()
    write_po(file, book, width=120, include_lineno=False)
    return b"".join(line for line in file.getvalue().splitlines(True) if not line.startswith(b'"POT-Creation-Date'))


def faults(book: Catalog) -> Iterator[str]:
    """Which messages of a translation are not shown because they do not fill in what the English fills in."""
    for message in book:
        english, other = message.id, message.string
        if not isinstance(english, str) or not isinstance(other, str) or not english or not other:
            continue
        if any("kinphoto/" in file and file.endswith((".py", ".toml")) for file, _ in message.locations):
            if not fills_in_the_same(english, other):
                yield f"line {message.lineno}: “{other}” does not fill in what “{english}” fills in"
            continue
        try:
            Words.of(english).filled(other)
        except NotTheSameError as problem:
            yield f"line {message.lineno}: {problem}"
        else:
            if exchanged(english, {english: other}.__getitem__) != other:
                yield f"line {message.lineno}: “{other}” does not format what “{english}” formats"


def main(asked: list[str]) -> int:
    if asked[:1] == ["--check"] and len(asked) != 2:
        print("Name one file to check: python docs/make_words.py --check de.po")
        return 2
    if asked[:1] == ["--check"]:
        wrong = list(faults(read_po(Path(asked[1]).read_text(encoding="utf-8").splitlines())))
        print("\n".join(wrong) or "Every translation fills in what the English fills in.")
        return bool(wrong)
    folder = Path(asked[0]) if asked else FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    for surface, book in catalogues().items():
        (folder / f"{surface}.pot").write_bytes(written(book))
        print(f"{folder / surface}.pot: {len(book)} messages{'' if surface in TRANSLATED else ', for reading only'}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
