"""The pages in another language: an invented one, in which all words of the templates stand in brackets, and a bit of
German in a catalogue as translators make it.

A catalogue is compiled by Babel and read by `gettext` of the standard library: two that know the format of GNU gettext.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from gettext import NullTranslations
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from building import copied, made_once, of_the_run
from docs_scripts import script
from jinja2 import Environment, nodes
from markupsafe import Markup
from sqlalchemy import select
from wide_letters import messages, write_catalogues

from kinphoto.archive import Archive
from kinphoto.archive.catalogue.consents import HOUSEHOLD, PUBLIC
from kinphoto.archive.catalogue.kinds import DATED_KINDS, MADE_KINDS, RELATION_KINDS
from kinphoto.archive.collection.rotation import WAYS
from kinphoto.scans.checks.limits import BY_KIND
from kinphoto.store import tables
from kinphoto.translation import catalogues, constants, templates
from kinphoto.translation.markup import READ_ATTRIBUTES
from kinphoto.web import assets, render
from kinphoto.web.app import LARGE, make_app

from ..browser.pages import PAGES
from .client import Client
from .test_odd_values import filled, forms
from .test_refusals import REFUSED

ROOT = Path(__file__).parents[2]
HOME = "http://127.0.0.1:5817"
ENVIRONMENT = render.environment


class Bracketed(NullTranslations):
    """A language in which every message is what it is in English, in brackets."""

    def gettext(self, message: str) -> str:
        return f"⟦{message}⟧"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return f"⟦{msgid1 if n == 1 else msgid2}⟧"


@pytest.fixture(autouse=True)
def english_again() -> Iterator[None]:
    """The next test begins with templates as they are."""
    forget()
    yield
    forget()


def forget() -> None:
    for made in (ENVIRONMENT, catalogues.catalogue, assets.assets, assets.version):
        made.cache_clear()


def test_every_word_on_the_pages_stands_in_a_catalogue(shared_sample: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """On each page of the sample all words are in brackets, or are values that Python fills in: then they stand in the
    catalogues of Python or come from the archive. Nothing else of a page differs from the English one."""
    english = render.environment()
    said, data = said_in_python(), said_in(shared_sample)
    code, known = keys(english) - said, words_of(" ".join(said)) | data
    forget()
    monkeypatch.setattr(render, "catalogue", lambda surface: Bracketed())
    bracketed = render.environment()
    bracketed.finalize = mark
    visitors = [Client(make_app(shared_sample), base_url=HOME) for _ in range(2)]
    wrong = []
    for name, address in PAGES.items():
        pages = []
        for visitor, environment in zip(visitors, (english, bracketed), strict=True):
            monkeypatch.setattr(render, "environment", lambda made=environment: made)
            pages.append(Page(visitor.get(address).text))
        original, page = pages
        assert page.tags == original.tags, name
        assert "⟦" in "".join(page.texts), name
        for text in ("".join(page.texts), *page.attributes):
            bare, values = outside(text)
            wrong += [(name, each) for each in re.findall(r"[^\W\d_].*", bare)]
            wrong += [(name, value) for value in values if not all_in(words_of(value), known | words_of(address))]
            wrong += [(name, value) for value in values if value.strip() in code and not words_of(value) <= data]
    assert sorted(set(wrong)) == []


def mark(value: object) -> object:
    """What the templates print and did not write, in brackets of its own."""
    if isinstance(value, Markup):
        return Markup("⟪") + value + Markup("⟫")
    return f"⟪{value}⟫" if isinstance(value, str) else value


def keys(environment: Environment) -> set[str]:
    """The strings in the code of the templates that are not taken for words: a value that is one of them may have been
    overlooked."""
    macros_ = constants.macros(environment, templates.ENDINGS)
    found = set()
    for name in environment.list_templates(templates.ENDINGS):
        assert environment.loader is not None
        tree = environment.parse(environment.loader.get_source(environment, name)[0])
        read = {id(each.node) for each in constants.words(tree, macros_)}
        found |= {str(each.value).strip() for each in tree.find_all(nodes.Const) if id(each) not in read}
    return {each for each in found if re.search(r"[^\W\d_]{2,}", each)}


def words_of(text: str) -> set[str]:
    """Its words, but for codes."""
    return {word.lower() for word in re.findall(r"[^\W\d_]{3,}", text)}


def all_in(words: set[str], known: set[str]) -> bool:
    """Whether all words are known, or put together from two: "granddaughter"."""
    rest = words - known
    return all(any(word[:at] in known and word[at:] in known for at in range(3, len(word) - 2)) for word in rest)


def said_in_python() -> set[str]:
    """The messages of Python, with their plurals."""
    maker = script("make_words")
    others = {*maker.TEMPLATES, *maker.SCRIPTS}
    found = [(text, plural) for surface, text, plural, _ in messages() if surface not in others]
    return {text for each in found for text in each if text}


def said_in(archive: Archive) -> set[str]:
    """All words of the archive's tables, and of the place where it lies."""
    with archive.engine.connect() as connection:
        rows = [row for table in tables.metadata.sorted_tables for row in connection.execute(table.select())]
    return words_of(f"{rows} {archive.folder.absolute()}")


def outside(text: str) -> tuple[str, list[str]]:
    """What stands outside all brackets, and what was printed and stands outside those of words."""
    bare, values, open_ = "", [""], ""
    for sign in text:
        if sign in "⟦⟪":
            open_ += sign
        elif sign in "⟧⟫":
            open_ = open_[:-1]
            values += [""] if sign == "⟫" else []
        elif not open_:
            bare += sign
        elif "⟦" not in open_:
            values[-1] += sign
    return bare, values


class Page(HTMLParser):
    """What a page is made of, and what people read on it."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, tuple[str, ...]]] = []
        self.texts: list[str] = []
        self.attributes: list[str] = []
        self._within = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, tuple(name for name, _ in attrs)))
        self.attributes += [value.replace("⟫⟪", "") for name, value in attrs if name in READ_ATTRIBUTES and value]
        self._within = tag

    def handle_endtag(self, tag: str) -> None:
        self.tags.append((f"/{tag}", ()))
        self._within = ""

    def handle_data(self, data: str) -> None:
        if self._within not in ("kbd", "code", "script"):
            self.texts.append(data.replace("⟫⟪", ""))


def test_a_catalogue_is_used_when_it_is_there(
    shared_sample: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """German for two lines and a number, by the language of whoever started kinphoto; all else stays English."""
    pages = Catalog("de")
    pages.add("Find", "Suchen")
    pages.add(
        "{photographs} in all{if undated}, {undated} without a date{end}{if unnamed}, {unnamed} without a name{end}"
        "{if disputed}, {disputed} disputed{end}.",
        "Zusammen {photographs}{if disputed}, {disputed} strittig{end}{if unnamed}, {unnamed} ohne Namen{end}"
        "{if undated}, {undated} ohne Datum{end}.",
    )
    pages.add(("photograph", "photographs"), ("Fotografie", "Fotografien"))
    pages.add("There is nobody here yet. Import your family tree, or add people below.", "<b>Leer")  # not taken
    scripts = Catalog("de")
    scripts.add("Saved.", "Gespeichert.")
    scripts.add("{number} of {count}", "{number} von {count}")
    for surface, book in (("pages", pages), ("scripts", scripts)):
        folder = tmp_path / "de" / "LC_MESSAGES"
        folder.mkdir(parents=True, exist_ok=True)
        with (folder / f"{surface}.mo").open("wb") as file:
            write_mo(file, book)
    monkeypatch.setattr(catalogues, "CATALOGUES", tmp_path)
    monkeypatch.setenv("LANGUAGE", "de")
    client = Client(make_app(shared_sample), base_url=HOME)
    boxes = client.get("/boxes").text
    assert '<html lang="de"' in boxes
    assert re.search(r">Zusammen \d+ Fotografien, \d+ strittig\.</p>", boxes)
    assert "<h1>Boxes</h1>" in boxes
    assert '<button class="main">Suchen</button>' in client.get("/people").text
    script = client.get(assets.asset("words.js")).text
    assert 'saved: "Gespeichert.",' in script
    assert "numbered: (number, count) => `${number} von ${count}`," in script
    assert 'theBack: "The back",' in script


def test_in_english_nothing_is_changed(shared_sample: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever language somebody has, without its catalogue the templates are compiled as they are."""
    monkeypatch.setenv("LANGUAGE", "de")
    environment = render.environment()
    assert environment.code_generator_class is Environment.code_generator_class
    assert environment.extensions == {}
    assert '<html lang="en"' in Client(make_app(shared_sample), base_url=HOME).get("/boxes").text


OURS = {
    "audience": ("name", "who"),
    "consent": ("asked_by", "note"),
    "container": ("name", "note"),
    "envelope": ("lender", "holds", "condition"),
    "event": ("kind", "date_text", "place"),
    "informant": ("name", "note"),
    "name": ("text", "given", "surname", "nickname"),
    "person": ("code", "name", "note"),
    "photograph": ("code", "title", "place", "note", "rights", "maker", "former_number"),
    "appearance": ("why",),
    "scan": ("path",),
    "statement": ("text", "date_text"),
    "story": ("title", "text", "date_text", "sound_name"),
    "tree_file": ("path",),
}
"""The columns that hold a family's own words, and no word of kinphoto's."""

AS_THEY_ARE = {
    "GEDCOM",  # names of formats, standards and units
    "CSV",
}
TYPED = {
    *DATED_KINDS,
    *MADE_KINDS,
    *RELATION_KINDS,
    "gelatin-silver",
    *WAYS,
    *BY_KIND,
    HOUSEHOLD,
    PUBLIC,
    "mirror",
    "positive",
}
"""What can be typed at the command line and is listed where something else was: it is the same in all languages."""


def own_words(archive: Archive) -> tuple[set[str], list[str]]:
    """The family's own words, with those of the place where it lies; and the history as it was written."""
    with archive.engine.connect() as connection:
        rows = [
            row
            for table, columns in OURS.items()
            for row in connection.execute(select(*(tables.metadata.tables[table].c[name] for name in columns)))
        ]
        history = sorted(connection.scalars(select(tables.change.c.what)), key=len, reverse=True)
    return words_of(f"{rows} {archive.folder.absolute()} {Path.home()}"), history


@dataclass(frozen=True)
class InWideLetters:
    """What was asked in the language of wide letters and answered, where a site and a package were made in it, and
    what stays as it is: the family's own words, and the history as it was written."""

    pages: list[str]
    forms: list[tuple[str, dict[str, Any], str]]
    given: Path
    data: set[str]
    history: list[str]


@pytest.fixture(scope="module")
def in_wide_letters(sample: Path, tmp_path_factory: pytest.TempPathFactory) -> InWideLetters:
    """All pages of the sample in that language, what is given of it, and then every form there is, sent as it stands,
    with nothing in each of its fields, and with what cannot be meant. Made once in a run: the program has to be
    translated and loaded anew."""
    folder = made_once(of_the_run(tmp_path_factory) / "wide", lambda place: answer_in_wide_letters(sample, place))
    asked, answers, own = (
        json.loads((folder / f"{what}.json").read_text(encoding="utf-8")) for what in ("asked", "answers", "own")
    )
    sent = [(*form, answer) for form, answer in zip(asked, answers, strict=True) if not isinstance(form, str)]
    pages = answers[: len(answers) - len(sent)]
    return InWideLetters(pages, sent, folder / "given", set(own["data"]), own["history"])


def answer_in_wide_letters(sample: Path, folder: Path) -> None:
    """In a process of its own, from a copy of the sample."""
    archive = copied(sample, folder / "sample")
    data, history = own_words(archive)
    every = forms(Client(make_app(archive), base_url=HOME))
    asked: list[str | tuple[str, dict[str, Any]]] = list(PAGES.values())
    for path in sorted(set(every) - {*LARGE, "/sign-out", "/scanning/start"}):
        fields = {name: value for name, value in every[path].items() if name != "token"}
        asked += [(filled(path), fields)] + [(filled(path), {**fields, name: ""}) for name in fields]
    asked += [(path, fields) for path, fields in REFUSED if len(str(fields)) < 2000]
    archive.close()
    for name, value in {"asked": asked, "own": {"data": sorted(data), "history": history}}.items():
        (folder / f"{name}.json").write_text(json.dumps(value), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "web.in_another_language", write_catalogues(folder / "locale"), archive.folder, folder],
        cwd=folder, capture_output=True, check=False, text=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join((*sys.path, str(ROOT / "tests")))},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


def left_in_english(text: str, data: set[str], history: list[str]) -> list[str]:
    """The words of a page that are in our letters and are not the family's."""
    page = Page(text)
    left = []
    for said in (" ".join(" ".join(page.texts).split()), *page.attributes):
        for change in history:
            said = said.replace(change, "").replace(change[:1].upper() + change[1:], "")
        said = said.replace("_back", "")  # in the names of files, which are read again by it
        left += [word for word in re.findall(r"[A-Za-z]{3,}", said) if word not in AS_THEY_ARE]
    return sorted({word for word in left if word.lower() not in data})


def test_all_that_python_says_on_the_pages_is_in_the_other_language(in_wide_letters: InWideLetters) -> None:
    """In a language of wide letters no word on any page of the sample is in ours, but for the family's own words, what
    the history keeps as it was written, keys, and names."""
    left = []
    for (name, address), text in zip(PAGES.items(), in_wide_letters.pages, strict=True):
        assert re.search("[ａ-ｚ]", text), name
        data = in_wide_letters.data | words_of(address)
        left += [(name, word) for word in left_in_english(text, data, in_wide_letters.history)]
    assert left == []


def test_what_forms_answer_is_in_the_other_language(in_wide_letters: InWideLetters) -> None:
    """What was saved and what was refused is said without a word of ours."""
    data = in_wide_letters.data | words_of(" ".join(TYPED))
    assert len(in_wide_letters.forms) > 500
    left = []
    for path, fields, text in in_wide_letters.forms:
        typed = words_of(f"{path} {fields}")
        left += [(path, str(fields), word) for word in left_in_english(text, data | typed, in_wide_letters.history)]
    assert left == []


def test_what_is_given_is_in_the_other_language(in_wide_letters: InWideLetters) -> None:
    """A site, and a package to deposit with its site and its first page, say nothing in our letters but the family's
    words and the names of files."""
    given = in_wide_letters.given
    files = [path for kind in ("*.html", "data/*.txt") for path in sorted(given.rglob(kind))]
    files += sorted(given.rglob("*.ｔｘｔ"))
    assert {path.suffix for path in files} == {".html", ".ｔｘｔ"}
    assert len(files) > 100
    data = in_wide_letters.data | words_of(" ".join(map(str, given.rglob("*")))) | {"sha", "bagit", "rfc"}
    left = []
    for path in files:
        text = path.read_text(encoding="utf-8")
        assert re.search("[ａ-ｚ]", text), path
        left += [(path.name, word) for word in left_in_english(text, data, in_wide_letters.history)]
    assert left == []
