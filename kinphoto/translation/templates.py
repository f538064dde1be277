"""Templates in another language: an environment of Jinja reads each through its catalogue, before it is compiled.

Where there is no catalogue, which means English, an environment stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import partial
from gettext import NullTranslations
from typing import Any

from jinja2 import Environment, nodes
from jinja2.compiler import CodeGenerator
from jinja2.ext import Extension
from markupsafe import escape

from kinphoto.translation.catalogues import counted
from kinphoto.translation.constants import macros, words
from kinphoto.translation.markup import messages, translated

ENDINGS = ("html", "svg")
"""Those of the files in a folder of templates that are templates."""


def template_messages(environment: Environment) -> Iterator[tuple[str, int, str, str | None]]:
    """All that people read in the templates: template, line, words, and the plural where something is counted."""
    known = macros(environment, ENDINGS)
    for name in environment.list_templates(ENDINGS):
        assert environment.loader is not None
        text = environment.loader.get_source(environment, name)[0]
        yield from ((name, each.line, each.text, None) for each in messages(text))
        for each in words(environment.parse(text), known):
            yield name, each.node.lineno, each.text.strip(), each.plural


def in_language(environment: Environment, book: NullTranslations | None) -> Environment:
    """The environment with its templates in the language of a catalogue, and with what `counted` makes of numbers."""
    if book is None:
        return environment
    other, language = book.gettext, str(escape(book.info().get("language", "en")))
    known = macros(environment, ENDINGS)

    class InLanguage(CodeGenerator):
        """Compiles a template after the words in its expressions were exchanged."""

        def visit_Template(self, node: nodes.Template, frame: Any = None) -> None:  # noqa: N802
            for each in words(node, known):
                if each.plural is None:
                    each.node.value = exchanged(each.text, other)
            super().visit_Template(node, frame)

    class Reading(Extension):
        """Exchanges the words between the expressions, before a template is read."""

        def preprocess(self, source: str, name: str | None, filename: str | None = None) -> str:
            return translated(source, other).replace('<html lang="en"', f'<html lang="{language}"')

    environment.code_generator_class = InLanguage
    environment.add_extension(Reading)
    if "counted" in environment.filters:
        environment.filters["counted"] = partial(counted, book)
    return environment


def exchanged(text: str, translate: Callable[[str], str]) -> str:
    """A string in another language, with the space around it as it was; one whose translation does not fill in the same
    stays English."""
    words = text.strip()
    other = translate(words)
    same = sorted(_FORMATS.findall(words)) == sorted(_FORMATS.findall(other))
    return text.replace(words, other) if same else text


_FORMATS = re.compile(r"%[\d.]*[a-z]")
