"""The pages of a site on a stick: plain HTML that opens from a folder, needs no server and no script, and prints.

What is filled in is given as plain values and escaped. Addresses are relative, so that the folder can be anywhere.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from kinphoto.phrases import counted, listed
from kinphoto.translation.catalogues import catalogue
from kinphoto.translation.scripts import script_in_language
from kinphoto.translation.templates import in_language

STATIC = ("site.css", "site.js", "search.js")
"""The files that every site has beside its pages."""


@cache
def _environment() -> Environment:
    made = Environment(
        loader=PackageLoader("kinphoto.share", "site"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    made.filters.update(counted=counted, listed=listed)
    return in_language(made, catalogue("given"))


def page(template: str, depth: int, **values: Any) -> bytes:
    """The page that a template makes of these values, `depth` folders below the first page."""
    up = "../" * depth
    return _environment().get_template(template).render(up=up, **values).encode("utf-8", "replace")


def language() -> str:
    """The language of the pages, with the state of its words; "" for English."""
    book = catalogue("given")
    return repr(book.info()) if book else ""


def templates() -> list[str]:
    """The names of the templates."""
    return _environment().list_templates(extensions=["html"])


def template_text(name: str) -> bytes:
    """A template as it is written."""
    return files("kinphoto.share").joinpath("site", name).read_bytes()


def static(name: str) -> bytes:
    """One of the files of `STATIC`."""
    data, book = files("kinphoto.share").joinpath("site", name).read_bytes(), catalogue("given")
    return script_in_language(data.decode(), book.gettext).encode() if book and name.endswith(".js") else data
