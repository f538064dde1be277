"""The messages of a template and what a translation may make of them.

Which elements stand inside a line of text is what HTML calls phrasing content (WHATWG HTML, 3.2.5.2.5) as far as it
holds words; of it, controls and pictures begin a text of their own here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from jinja2 import DictLoader, Environment

import kinphoto
from kinphoto.translation.markup import JINJA, Message, NotTheSameError, messages, translated


def texts(source: str) -> list[str]:
    """The messages of a template."""
    return [message.text for message in messages(source)]


def shown(source: str, words: dict[str, str], **values: object) -> str:
    """The page that a template makes in another language."""
    return (
        Environment(autoescape=True).from_string(translated(source, lambda text: words.get(text, text))).render(values)
    )


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("<h1>Boxes</h1>", ["Boxes"]),
        ("<p>Look into <i>History</i> first.</p>", ["Look into <i>History</i> first."]),
        ("<p>{{ all | counted('print') }} in {{ box.name }}.</p>", ["{prints} in {name}."]),
        ("<p>{{ n }} here{% if old %}, {{ old }} old{% endif %}.</p>", ["{n} here{if old}, {old} old{end}."]),
        ("<p>{% if new %}It is new.{% else %}It is old.{% endif %}</p>", ["It is new.", "It is old."]),
        ("<li><a href='/a'>One</a> · <a href='/b'>Two</a></li>", ["One", "Two"]),
        ("<p><a href='/a'>Add</a> or <a href='/b'>undo</a></p>", ["<a>Add</a> or <a2>undo</a2>"]),
        ("<p>Save it <button>Save</button> now</p>", ["Save it", "Save", "now"]),
        ("<button>Look <kbd>L</kbd></button>", ["Look {L}"]),
        ("<p>Look in <span>{{ path }}</span>.</p>", ["Look in {path}."]),
        ("<p>{{ 'Another' if many else 'A' }} folder</p>", ["{Another | A} folder"]),
        ("<p>{{ one.name }} and {{ other.name }}</p>", ["{name} and {name 2}"]),
        ("<p>{{ n }} · {{ m }}</p>", []),
        ("<input placeholder='x'><img alt=\"The back of {{ name }}\">", ["The back of {name}"]),
        ('<form data-quick="Saved." action="/save">{{ token() }}</form>', ["Saved."]),
        ("<style>p { color: red }</style><!-- words --><p>{# note #}Words\n  in  lines</p>", ["Words in lines"]),
        ("{% block title %}Boxes · {{ name }}{% endblock %}", ["Boxes · {name}"]),
        ('{% block asked %} value="{{ text }}"{% endblock %}', []),
    ],
)  # fmt: skip
def test_a_message_is_what_is_read_in_one_go(source: str, expected: list[str]) -> None:
    """A line of text with what is filled in and linked in it; branches with nothing around them are one each."""
    assert texts(source) == expected


def test_a_message_knows_its_line() -> None:
    """Also in the attributes of a tag that goes over several lines."""
    assert [(each.line, each.text) for each in messages('<p>\n\nOne</p>\n<img\nalt="Two">')] == [(3, "One"), (4, "Two")]


SENTENCE = (
    '<p>\n{{ n }} in <a href="/box?a=1">{{ box }} there</a>'
    "{% if old %}, {{ old }} old{% else %}, none{% endif %}.\n</p>"
)


def test_the_order_may_be_another() -> None:
    """What is filled in, linked and decided can stand elsewhere in another language; the rest of the page stays."""
    (text,) = texts(SENTENCE)
    assert text == "{n} in <a>{box} there</a>{if old}, {old} old{else}, none{end}."
    other = {text: "{if old}{old} alte{else}Keine alten{end}; in <a>dort: {box}</a> sind {n}"}
    assert shown(SENTENCE, other, n=3, box="A & B", old=1) == (
        '<p>\n1 alte; in <a href="/box?a=1">dort: A &amp; B</a> sind 3\n</p>'
    )
    assert shown(SENTENCE, other, n=3, box="C", old=0).startswith("<p>\nKeine alten; in")


@pytest.mark.parametrize(
    "other",
    [
        "in <a>{box}</a>{if old}, {old}{else}{end}",  # {n} is missing
        "{n} in {box}{if old}, {old}{else}{end}",  # the link is missing
        "{n} in <a>{box}{if old}, {old}{else}{end}",  # the link is not closed
        "{n} in <a>{box}</a>{if old}, {old}{else}",  # the branch is not closed
        "{n} in <a>{if old}</a>{box}, {old}{else}{end}",  # they cross
        "{n} in <a>{box}</a>{if old}, {old}{end}",  # a branch is missing
        "{n} {m} in <a>{box}</a>{if old}, {old}{else}{end}",  # {m} is not known
        "{n} in <a>{box}</a>{if old}, {old}{else}{end}<script>",  # a tag of its own
        "{n} in <a>{box}</a>{if old}, {old}{else}{end} {{ secret }}",  # Jinja of its own
    ],
)
def test_a_translation_that_fills_in_something_else_is_not_taken(other: str) -> None:
    """The English stays, and whoever translates is told."""
    (message,) = messages(SENTENCE)
    for known in (message, Message.of(message.text)):
        with pytest.raises(NotTheSameError):
            known.filled(other)
    assert translated(SENTENCE, lambda _: other) == SENTENCE


def test_quotation_marks_do_not_end_an_attribute() -> None:
    """A translation may hold them."""
    assert translated('<img alt="A back">', lambda _: 'Die "Rückseite"') == '<img alt="Die &quot;Rückseite&quot;">'


def test_what_is_not_translated_is_what_it_was() -> None:
    """A template without words in its catalogue is the same, to the letter."""
    assert translated(SENTENCE, lambda text: text) == SENTENCE


def test_templates_that_extend_and_include_each_other_stay_whole() -> None:
    """Each is read by itself, as Jinja reads them."""
    files = {
        "base.html": "<title>{% block title %}{% endblock %}</title>{% block main %}{% endblock %}",
        "page.html": '{% extends "base.html" %}{% block title %}Boxes{% endblock %}'
        "{% block main %}<p>Empty</p>{% endblock %}",
    }
    words = {"Boxes": "Schachteln", "Empty": "Leer"}
    made = Environment(loader=DictLoader({name: translated(text, words.__getitem__) for name, text in files.items()}))
    assert made.get_template("page.html").render() == "<title>Schachteln</title><p>Leer</p>"


ROOT = Path(kinphoto.__file__).parent
FOLDERS = ("web/templates", "share/site", "archive/keeping/templates")


def templates() -> Iterator[Path]:
    """All templates of ours."""
    for folder in FOLDERS:
        yield from (path for path in sorted((ROOT / folder).iterdir()) if path.suffix in (".html", ".svg"))


@pytest.mark.parametrize("path", list(templates()), ids=lambda path: path.name)
def test_no_word_of_our_templates_is_outside_a_message(path: Path) -> None:
    """Without its messages nothing is left of a template but tags, code, keys and style; also where the sample has
    nothing to show."""
    source = path.read_text(encoding="utf-8")
    rest = translated(source, lambda text: "".join(re.findall(r"\{[^{}]*\}|</?\w+>", text)))
    rest = re.sub(r"<(style|kbd|code)\b.*?</\1>", "", JINJA.sub("", rest), flags=re.DOTALL)
    rest = re.sub(
        r'<(?:"[^"]*"|[^">])*>|&\w+;|^ [\w-]+=""$', "", rest, flags=re.MULTILINE
    )  # also tags' parts in a block
    assert re.findall(r"[^\W\d_]+", rest) == []


@pytest.mark.parametrize("path", list(templates()), ids=lambda path: path.name)
def test_each_message_of_ours_can_be_translated(path: Path) -> None:
    """With its own words in the place of its words a template is the same, but for line ends within a message; and what
    stands in a catalogue is read as the template is."""
    source = path.read_text(encoding="utf-8")
    for message in messages(source):
        assert message.filled(message.text).split() == translated_alone(message).split()
        known = Message.of(message.text)
        assert known.filled(message.text) == message.text.replace('"', "&quot;")
        assert (set(known.values), set(known.groups)) == (set(message.values), set(message.groups)), message.text


def translated_alone(message: Message) -> str:
    """The source of a message, put together from its parts in the order in which they stand."""
    opened: list[list[str]] = []
    made = ""
    for words, part in re.findall(r"([^{<]*)(\{[^{}]*\}|</?\w+>|$)", message.text):
        made += words.replace('"', "&quot;")
        if part in message.values:
            made += message.values[part]
        elif part in message.groups:
            opened.append(list(message.groups[part]))
            made += opened[-1].pop(0)
        elif part:
            made += opened[-1].pop(0)
            opened = [each for each in opened if each]
    return made
