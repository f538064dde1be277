"""The messages of a template: its runs of text between the elements that begin a line, as a person reads them.

A run is what stands between two such elements, with the inline elements in it. What the template fills in is in braces,
by a name made from its expression: "{photographs} in all{if undated}, {undated} without a date{end}". Where a run has
no words of its own, each part of it that has some is a message. The texts of attributes that people read are read in
the same way. `translated` puts other words in their place, if they fill in the same things.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from kinphoto.translation.names import test_name, value_name

INLINE = frozenset(
    "a abbr b bdi br cite code del dfn em i ins kbd mark q s small span strong sub sup time u var".split()
)
"""Elements inside a line of text; all others begin and end one."""

KEPT = frozenset(("code", "kbd"))
"""Inline elements whose words are the same in every language."""

READ_ATTRIBUTES = ("alt", "aria-label", "data-quick", "placeholder", "title")
"""Attributes with words in them; `data-quick` is what a script says when a form was sent."""

JINJA = re.compile(
    r"""\{\{(?:"[^"]*"|'[^']*'|[^"'}]|\}(?!\}))*\}\}|\{%(?:"[^"]*"|'[^']*'|[^"'%]|%(?!\}))*%\}|\{\#.*?\#\}""", re.DOTALL
)
_MARK = re.compile("[\ue000-\uf8ff]")
_TAG = re.compile(r'<!--.*?-->|<![^>]*>|<(style|script)\b.*?</\1>|<(/?)([a-zA-Z][\w:-]*)(?:"[^"]*"|[^">])*>', re.DOTALL)
_READ = re.compile(rf'(?<=\s)((?:{"|".join(READ_ATTRIBUTES)})=")([^"]*)"')
_PAIRS = {"if": "endif", "for": "endfor"}
_PART = re.compile(r"\{[^{}]*\}|</?\w+>")
_ATTRIBUTE = re.compile(r'[\w-]+="$')
"""A block of a template inside a tag."""
_AROUND = " \t\n·"
"""What may stand around the words of a run and is not theirs."""
_LETTER = re.compile(r"[^\W\d_]")


class NotTheSameError(ValueError):
    """A translation does not fill in what the English fills in."""


@dataclass
class Message:
    """Words of a template, and what stands behind each name in braces or angle brackets."""

    text: str = ""
    line: int = 0
    values: dict[str, str] = field(default_factory=dict)
    groups: dict[str, list[str]] = field(default_factory=dict)
    """By how it is written: a statement with its other branches and its end, or a tag with its closing tag."""

    @classmethod
    def of(cls, text: str) -> Message:
        """A message as it is written in a catalogue: what it fills in stands for itself."""
        made = cls(text)
        open_: list[list[str]] = []
        for part in _PART.findall(text):
            if part.startswith(tuple(f"{{{word} " for word in _PAIRS)) or re.fullmatch(r"<\w+>", part):
                open_.append(made.groups.setdefault(part, [part]))
            elif part in ("{else}", "{end}") or part.startswith("</"):
                open_[-1].append(part)
                if part != "{else}":
                    open_.pop()
            else:
                made.values[part] = part
        return made

    def filled(self, text: str) -> str:
        """The template source of a translation. Raises `NotTheSameError` when it leaves something out, adds something,
        or does not close what it opens."""
        used: set[str] = set()
        open_: list[list[str]] = []
        made, at = [], 0
        for found in _PART.finditer(text):
            made.append(_plain(text[at : found.start()]))
            part, at = found[0], found.end()
            if part in self.values:
                made.append(self.values[part])
            elif part in self.groups and part not in used:
                made.append(self.groups[part][0])
                open_.append([part, *self.groups[part][1:]])
            else:
                made.append(self._further(open_, part))
            used.add(part)
        missing = [part for part in (*self.values, *self.groups) if part not in used]
        missing += [f"the end of {opened}" for opened, *_ in open_]
        if missing:
            raise NotTheSameError(f"{missing[0]} is missing from the translation of “{self.text}”")
        return "".join([*made, _plain(text[at:])])

    def _further(self, open_: list[list[str]], part: str) -> str:
        """The source of another branch, or of the end, of what was opened last."""
        if open_ and len(open_[-1]) > 1:
            opened = open_[-1][0]
            end = f"</{opened[1:-1]}>" if opened[0] == "<" else "{end}"
            if part == (end if len(open_[-1]) == 2 else "{else}"):
                source = open_[-1].pop(1)
                if part == end:
                    open_.pop()
                return source
        raise NotTheSameError(f"{part} is out of place in the translation of “{self.text}”")


def _plain(text: str) -> str:
    """Words of a translation, which bring no tag and nothing of Jinja's along, and can stand in an attribute."""
    if re.search(r"[<>{}]", text):
        raise NotTheSameError(f"“{text}” may not hold < > {{ or }}")
    return text.replace('"', "&quot;")


Change = Callable[[Message], str | None]
"""What becomes of a message: the source that takes its place, or None."""


def messages(source: str) -> list[Message]:
    """The messages of a template, line by line."""
    found: list[Message] = []
    _rebuilt(source, lambda message: found.append(message))
    return sorted(found, key=lambda message: message.line)


def translated(source: str, translate: Callable[[str], str]) -> str:
    """The template with the words of another language. A message whose translation does not fill in the same stays
    English."""

    def change(message: Message) -> str | None:
        other = translate(message.text)
        try:
            return None if other == message.text else message.filled(other)
        except NotTheSameError:
            return None

    return _rebuilt(source, change)


def _rebuilt(source: str, change: Change, line: int = 1) -> str:
    tokens = list(_tokens(source, change, line))
    made, at = [], 0
    for run in _runs(tokens):
        words = tokens[run.start : run.stop]
        new = change(_message(words))
        if new is not None:
            made += [
                *(token.source for token in tokens[at : run.start]),
                _space(words[0]),
                new,
                _space(words[-1], True),
            ]
            at = run.stop
    return "".join([*made, *(token.source for token in tokens[at:])])


def _space(token: _Token, after: bool = False) -> str:
    """The space around the words of a run, which stays."""
    if token.kind != "text":
        return ""
    text, words = token.source, token.source.strip(_AROUND)
    return text[text.rindex(words) + len(words) :] if after else text[: text.index(words)]


# Into pieces --------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Token:
    """A piece of a template."""

    kind: str
    """text, value, note, edge (of a run), or one of open, between, close, which make a group."""
    source: str
    line: int
    name: str = ""
    """For a tag its element, for a statement its first word."""


def _tokens(source: str, change: Change, line: int) -> Iterator[_Token]:
    """The pieces of a template; the attributes of its tags with what `change` makes of them."""
    jinja = JINJA.findall(source)
    numbers = iter(range(len(jinja)))
    marked = JINJA.sub(lambda _: chr(0xE000 + next(numbers)), source)

    def original(text: str) -> str:
        return _MARK.sub(lambda found: jinja[ord(found[0]) - 0xE000], text)

    def attribute(found: re.Match[str]) -> str:
        return f'{found[1]}{_rebuilt(original(found[2]), change, line)}"'

    at = 0
    for tag in _TAG.finditer(marked):
        yield from _between_tags(original(marked[at : tag.start()]), line)
        line += original(marked[at : tag.start()]).count("\n")
        name = (tag[3] or "").lower()
        inline = name in INLINE and name not in ("br", "wbr")
        kind = ("close" if tag[2] else "open") if inline else "value" if name == "br" else "edge"
        yield _Token(kind, original(_READ.sub(attribute, tag[0])), line, name)
        line += original(tag[0]).count("\n")
        at = tag.end()
    yield from _between_tags(original(marked[at:]), line)


def _between_tags(text: str, line: int) -> Iterator[_Token]:
    """Words, and between them what Jinja does."""
    at = 0
    for found in JINJA.finditer(text):
        if at < found.start():
            yield _Token("text", text[at : found.start()], line)
        line += text.count("\n", at, found.start())
        at = found.end()
        if found[0].startswith("{{"):
            yield _Token("value", found[0], line)
        elif found[0].startswith("{#"):
            yield _Token("note", found[0], line)
        else:
            word = found[0].strip("{%- }\n").partition(" ")[0]
            kind = {"else": "between", "elif": "between"}.get(word)
            kind = kind or ("open" if word in _PAIRS else "close" if word in _PAIRS.values() else "edge")
            yield _Token(kind, found[0], line, word)
        line += found[0].count("\n")
    if at < len(text):
        yield _Token("text", text[at:], line)


# Into runs ----------------------------------------------------------------------------------------------------


def _runs(tokens: Sequence[_Token]) -> Iterator[range]:
    """Where the messages stand, in order."""
    start = 0
    for at, token in enumerate(tokens):
        if token.kind == "edge":
            yield from _whole(tokens, range(start, at))
            start = at + 1
    yield from _whole(tokens, range(start, len(tokens)))


def _whole(tokens: Sequence[_Token], run: range) -> Iterator[range]:
    """The messages between two edges: what opens outside the run, or closes there, is an edge as well."""
    groups = _groups(tokens, run)
    known = {at for group in groups for at in group}
    start = run.start
    edges = [at for at in run if tokens[at].kind in ("open", "between", "close") and at not in known]
    if not edges:
        yield from _worded(tokens, run, groups)
        return
    for at in [*edges, run.stop]:
        yield from _whole(tokens, range(start, at))
        start = at + 1


def _groups(tokens: Sequence[_Token], run: range) -> list[list[int]]:
    """What is opened and closed in a run: the places where each begins, goes on and ends."""
    open_: list[list[int]] = []
    found = []
    for at in run:
        token = tokens[at]
        if token.kind == "open":
            open_.append([at])
        elif token.kind == "between":
            while open_ and tokens[open_[-1][0]].name not in _PAIRS:
                open_.pop()
            if open_:
                open_[-1].append(at)
        elif token.kind == "close":
            fits = [group for group in open_ if _PAIRS.get(name := tokens[group[0]].name, name) == token.name]
            if fits:
                while open_[-1] is not fits[-1]:
                    open_.pop()
                found.append([*open_.pop(), at])
    return found


def _worded(tokens: Sequence[_Token], run: range, groups: Sequence[Sequence[int]]) -> Iterator[range]:
    """The run, without the space around it, if it has words of its own; or else those of its parts that have."""
    outer = [
        group for group in groups if group[0] in run and not any(o[0] < group[0] < o[-1] for o in groups if o[0] in run)
    ]
    inside = {at for group in outer for at in range(group[0], group[-1] + 1)}
    if any(_has_words(tokens[at]) for at in run if at not in inside):
        start, stop = run.start, run.stop
        while _is_empty(tokens[start]):
            start += 1
        while _is_empty(tokens[stop - 1]):
            stop -= 1
        yield range(start, stop)
        return
    for group in sorted(outer, key=lambda group: group[0]):
        if tokens[group[0]].name not in KEPT:
            for start, stop in pairwise(group):
                yield from _worded(tokens, range(start + 1, stop), groups)


def _has_words(token: _Token) -> bool:
    return token.kind == "text" and _LETTER.search(html.unescape(_ATTRIBUTE.sub("", token.source))) is not None


def _is_empty(token: _Token) -> bool:
    return token.kind == "note" or (token.kind == "text" and not token.source.strip(_AROUND))


def _message(run: Sequence[_Token]) -> Message:
    """What a person reads of a run."""
    made, text = Message(), ""
    groups = {group[0]: group for group in _groups(run, range(len(run)))}
    within: dict[int, str] = {}
    at = 0
    while at < len(run):
        token, group = run[at], groups.get(at)
        if group and not _is_worded(run, group):
            text += _value(made, _name_of_group(run, group), "".join(each.source for each in run[at : group[-1] + 1]))
            at = group[-1]
        elif group:
            start = _start(made, token, [run[each].source for each in group])
            text += start
            within |= dict.fromkeys(group[1:-1], "{else}")
            within[group[-1]] = "{end}" if token.name in _PAIRS else f"</{start[1:-1]}>"
        elif token.kind == "value":
            text += _value(
                made, value_name(token.source) if token.source.startswith("{{") else token.name, token.source
            )
        elif token.kind == "text":
            text += re.sub(r"\s+", " ", token.source)
        else:
            text += within.get(at, "")
        at += 1
    made.text = text.strip(_AROUND)
    made.line = run[0].line + (run[0].source.count("\n") - run[0].source.lstrip().count("\n"))
    return made


def _is_worded(run: Sequence[_Token], group: Sequence[int]) -> bool:
    inner = run[group[0] : group[-1]]
    return run[group[0]].name not in KEPT and any(_has_words(each) for each in inner)


def _name_of_group(run: Sequence[_Token], group: Sequence[int]) -> str:
    """For one without words: its first value, or the key that is printed in it, or what decides."""
    first, inner = run[group[0]], run[group[0] + 1 : group[-1]]
    if first.name in KEPT:
        return "".join(each.source for each in inner if each.kind == "text").strip() or "key"
    names = [value_name(each.source) for each in inner if each.source.startswith("{{")]
    return next(iter(names), "") or (test_name(first.source) if first.name in _PAIRS else first.name)


def _value(message: Message, name: str, source: str) -> str:
    """How a value is written; two of the same name are numbered."""
    part, number = f"{{{name}}}", 1
    while message.values.get(part, source) != source or part in message.groups:
        number += 1
        part = f"{{{name} {number}}}"
    message.values[part] = source
    return part


def _start(message: Message, token: _Token, sources: list[str]) -> str:
    """How the start of a group is written, which is used once."""
    statement = token.name in _PAIRS
    name = f"{token.name} {test_name(token.source)}" if statement else token.name
    number = 1
    while (part := f"{{{name}}}" if statement else f"<{name}>") in message.groups:
        number += 1
        name = f"{name.rstrip(' 0123456789')}{' ' if statement else ''}{number}"
    message.groups[part] = sources
    return part
