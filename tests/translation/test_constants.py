"""The strings in the code of templates: which of them people read."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from jinja2 import DictLoader, Environment, nodes

from kinphoto.share import pages as given
from kinphoto.translation.constants import macros, words
from kinphoto.translation.templates import ENDINGS
from kinphoto.web import render


def read(source: str, **more: str) -> list[str]:
    """The strings of a template that are read, beside others that it uses."""
    environment = Environment(
        loader=DictLoader({f"{name}.html": text for name, text in more.items()} | {"it.html": source})
    )
    return [each.text for each in words(environment.parse(source), macros(environment, ENDINGS))]


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("<p>{{ 'Redo' if undoes == 'yes' else 'Undo' }}</p>", ["Redo", "Undo"]),
        ("<p class=\"{{ 'red' if bad else 'plain' }}\">{{ 'told by ' ~ name }}</p>", ["told by "]),
        ("<p>{{ ['private' if one.private else '', when] | select | join(' and ') }}</p>", ["private"]),
        ("<img alt=\"{{ 'The back' }}\" src=\"{{ 'back.jpg' }}\">", ["The back"]),
        ("{% set name = 'No date' %}{% set kind = 'code' %}<p class=\"{{ kind }}\">{{ name }}</p>", ["No date"]),
        ("{% for key, word in [('left', 'Left')] %}<input name=\"{{ key }}\"> {{ word }}{% endfor %}", ["Left"]),
        ("<p>{{ {'done': 'Done', 'undone': 'Undone'}[way] }}</p>", ["Done", "Undone"]),
        ("<p>{{ n | counted('print') }}</p>", ["print"]),
        ("{% macro one(key, it) %}<p id=\"{{ key }}\">{{ it }}</p>{% endmacro %}{{ one('a', 'Front') }}", ["Front"]),
        ("<p>{{ who or 'somebody' }}, {{ 'The %ds' % year }}, {{ '%.1f' | format(x) }}</p>", ["somebody", "The %ds"]),
    ],
)  # fmt: skip
def test_strings_that_reach_a_person(source: str, expected: list[str]) -> None:
    """And not keys, classes, addresses, formats and what is compared."""
    assert read(source) == expected


def test_a_macro_of_another_template_is_followed() -> None:
    """What it is given is read where it prints it for people, also when it hands it on."""
    parts = (
        '{% macro link(to, word) %}<a href="{{ to }}">{{ word }}</a>{% endmacro %}'
        "{% macro large(to, word) %}{{ link(to, word) }}{% endmacro %}"
    )
    assert read("<p>{{ parts.large('/boxes', 'Boxes') }}</p>", parts=parts) == ["Boxes"]


def unread() -> Iterator[tuple[str, str]]:
    """Of our templates, the strings that are not read."""
    for environment in (render.environment(), given._environment()):
        known = macros(environment, ENDINGS)
        for name in environment.list_templates(ENDINGS):
            assert environment.loader is not None
            tree = environment.parse(environment.loader.get_source(environment, name)[0])
            found = words(tree, known)
            counted = {each.plural for each in found if each.plural}
            read_nodes = {id(each.node) for each in found}
            for each in tree.find_all(nodes.Const):
                if isinstance(each.value, str) and id(each) not in read_nodes and each.value not in counted:
                    yield name, each.value


def test_nothing_else_in_our_templates_looks_like_words() -> None:
    """No string that is taken for code has a capital among small letters, or two words."""
    strange = re.compile(r"[A-Z][a-z]|[a-z]{2,} [a-z]{2,}|[a-z] $|^ [a-z]")
    compared = {("photograph_what.html", "shows "), ("scan_checks.html", "checking scans"), ("story.html", "no longer")}
    assert {each for each in unread() if strange.search(each[1])} - compared == set()
