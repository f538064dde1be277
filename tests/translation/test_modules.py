"""What Python says in another language: modules that are read through their catalogues before they are compiled."""

from __future__ import annotations

import ast
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo

from kinphoto.translation import catalogues, modules
from kinphoto.translation.python import file_messages, replace_words


def said(source: str, words: dict[str, str], **given: object) -> object:
    """What the expression at the end of a source is in a language of these words."""
    tree = ast.parse(f"said = {source}")
    for _, each in list(file_messages("archive/some.py", tree)):
        replace_words(each, lambda text: words.get(text, text))
    room = dict(given)
    exec(compile(tree, "some.py", "exec"), room)
    return room["said"]


@pytest.mark.parametrize(
    ("source", "words", "expected"),
    [
        ('"no such box"', {"no such box": "keine solche Schachtel"}, "keine solche Schachtel"),
        ('f"{name} is in {box}"', {"{name} is in {box}": "in {box} ist {name}"}, "in Tin ist Ada"),
        ('f", and in {box}"', {", and in {box}": ", und in {box}"}, ", und in Tin"),
        ('f" in {box} "', {"in {box}": "im {box}"}, " im Tin "),
        ('f"{name} {\'was\' if old else \'is\'} here"',
         {"is": "ist", "{name} {was | is} here": "hier {was | is} {name}"}, "hier ist Ada"),
        ('f"{number:,} boxes"', {"{number} boxes": "{number} Schachteln"}, "1,200 Schachteln"),
        ('"{0} was {figure} or older".format(name, figure=3)',
         {"{0} was {figure} or older": "mindestens {figure}: {0}"}, "mindestens 3: Ada"),
        ('" and ".join([name, box])', {"and": "und"}, "Ada und Tin"),
        ('f"{name} is in {box}"', {"{name} is in {box}": "da ist {name}"}, "Ada is in Tin"),  # leaves something out
        ('f"{name} is in {box}"', {"{name} is in {box}": "{name} {box} {name}"}, "Ada is in Tin"),  # adds something
    ],
)  # fmt: skip
def test_words_are_exchanged_in_the_code(source: str, words: dict[str, str], expected: str) -> None:
    """What is filled in may change its place, and keeps its format; space around the words stays; a translation that
    does not fill in the same is not used."""
    assert said(source, words, name="Ada", box="Tin", old=False, number=1200) == expected


SCRIPT = """
import json, os, sys
from pathlib import Path
from kinphoto.translation import catalogues, modules
catalogues.CATALOGUES = Path(sys.argv[1])
modules.import_in_language()
import kinphoto.errors, kinphoto.phrases, kinphoto.archive.words.dates, kinphoto.archive.tree.plan
from kinphoto.archive.people.kin_words import _ordinal
from kinphoto.reason.model import processes
print(json.dumps([
    str(kinphoto.errors.RowsRejectedError([(3, "why")])),
    kinphoto.phrases.listed(["Ada", "Tom"]),
    [kinphoto.phrases.counted(n, "photograph") for n in (1, 2, 5)],
    processes.load()["tintype"].title,
    kinphoto.errors.__spec__.loader.__class__.__name__,
]))
"""

GERMAN = {
    "sentences": {
        "{words} and {words 2}": "{words} und {words 2}",
        ("photograph", "photographs"): ("Fotografie", "Fotografien"),
        "tintype": "Ferrotypie",
    },
    "errors": {
        "{rows} cannot be used, so nothing was changed: {shown}{more}": "Nichts geändert, {rows} falsch: {shown}{more}",
        ("row", "rows"): ("Zeile", "Zeilen"),
    },
}


def german(folder: Path) -> Path:
    """A bit of German in catalogues, as Babel compiles them."""
    place = folder / "de" / "LC_MESSAGES"
    place.mkdir(parents=True, exist_ok=True)
    for surface, messages in GERMAN.items():
        book = Catalog("de")
        for english, other in messages.items():
            book.add(english, other)
        with (place / f"{surface}.mo").open("wb") as file:
            write_mo(file, book)
    return folder


def run(folder: Path, **given: str) -> list[object]:
    """What the script prints with the catalogues of a folder."""
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(folder)], env=os.environ | given, capture_output=True, check=True, text=True
    )
    printed: list[object] = json.loads(done.stdout)
    return printed


def test_modules_are_imported_in_the_language_of_whoever_starts_kinphoto(tmp_path: Path) -> None:
    """An error with a number in it, a list, what is counted, and the title of a process."""
    assert run(german(tmp_path), LANGUAGE="de", PYTHONDONTWRITEBYTECODE="1") == [
        "Nichts geändert, 1 Zeile falsch: line 3: why. Make the corrections, or use --keep-going to apply the other "
        "rows.",
        "Ada und Tom",
        ["1 Fotografie", "2 Fotografien", "5 Fotografien"],
        "Ferrotypie",
        "_InLanguage",
    ]


def test_without_a_catalogue_python_imports_as_it_always_does(tmp_path: Path) -> None:
    """Whatever language somebody has."""
    english = [
        "1 row cannot be used, so nothing was changed: line 3: why. Make the corrections, or use --keep-going to apply "
        "the other rows.",
        "Ada and Tom",
        ["1 photograph", "2 photographs", "5 photographs"],
        "tintype",
        "SourceFileLoader",
    ]
    assert run(tmp_path, LANGUAGE="de") == english
    assert run(german(tmp_path), LANGUAGE="en") == english


def test_compiled_modules_are_kept_for_each_language(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beside Python's own, and made again when a catalogue has changed."""
    monkeypatch.setattr(catalogues, "CATALOGUES", german(tmp_path))
    monkeypatch.setenv("LANGUAGE", "de")
    catalogues.catalogue.cache_clear()
    book = catalogues.catalogue("errors")
    assert book is not None
    loader = modules._InLanguage(
        "kinphoto.errors", str(Path(modules.__file__).parents[1] / "errors.py"), {"errors": book}
    )
    assert loader._kept("/x/errors.cpython-311.pyc") == "/x/errors.cpython-311.de.pyc"
    assert loader._kept("/x/errors.py") == "/x/errors.py"
    before = loader.path_stats(loader.path)["mtime"]
    os.utime(tmp_path / "de" / "LC_MESSAGES" / "errors.mo", (1, 1))
    assert loader.path_stats(loader.path)["mtime"] != before
    catalogues.catalogue.cache_clear()
