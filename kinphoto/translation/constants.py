"""The words in the expressions of templates: of all strings in a template's code, those that can reach a person.

A string is read when it is what `{{ … }}` prints among the words of a page or in an attribute that people read, or one
of the values that it chooses from, or what a name stands for that is printed there: a variable of the template, or what
a macro is given. Others are keys, formats, addresses and names of classes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from jinja2 import Environment, nodes

from kinphoto.translation.markup import READ_ATTRIBUTES

_LETTER = re.compile(r"[^\W\d_]")
_TAG = re.compile(r"<(?=[a-zA-Z/!])")
_IN_TAG = re.compile(r'([\w-]+)="|>')
_QUOTE = re.compile('"')


@dataclass(frozen=True)
class ShownWords:
    """A string that people read, and its plural where it says how many there are of something."""

    node: nodes.Const
    plural: str | None = None

    @property
    def text(self) -> str:
        return str(self.node.value)


Macros = Mapping[str, tuple[list[str], frozenset[str]]]
"""The macros of the templates by name: the parameters of each, and which of them it prints where people read."""


def macros(environment: Environment, endings: Sequence[str]) -> Macros:
    """Those of all templates, read from files with these endings."""
    assert environment.loader is not None
    names = environment.list_templates(endings)
    trees = [environment.parse(environment.loader.get_source(environment, name)[0]) for name in names]
    found: dict[str, tuple[list[str], frozenset[str]]] = {}
    before = None
    while before != found:  # a macro may hand on what it is given to another
        before = dict(found)
        for tree in trees:
            for macro in tree.find_all(nodes.Macro):
                parameters = [each.name for each in macro.args]
                found[macro.name] = parameters, frozenset(parameters) & _Reader(found, macro.body).names
    return found


def words(tree: nodes.Template, known: Macros) -> list[ShownWords]:
    """The strings of a template that people read, line by line."""
    bodies = [tree.body, *(macro.body for macro in tree.find_all(nodes.Macro))]
    found = {id(each.node): each for body in bodies for each in _Reader(known, body).words}
    return sorted(found.values(), key=lambda each: each.node.lineno)


class _Reader:
    """Goes through a template or a macro as it is written, and knows where in its HTML each thing is printed."""

    def __init__(self, known: Macros, body: list[nodes.Node]) -> None:
        self.words: list[ShownWords] = []
        self.names: set[str] = set()
        """The names whose values are printed where people read."""
        self._known = known
        self._place = ""  # in a tag "<", in an attribute its name, else among words
        self._printed: list[nodes.Node] = []
        self._given: list[tuple[nodes.Node, nodes.Node]] = []
        self._body(body)
        self._follow()

    def _body(self, parts: list[nodes.Node]) -> None:
        for part in parts:
            self._node(part)

    def _node(self, part: nodes.Node) -> None:
        match part:
            case nodes.Output(nodes=inner):
                for each in inner:
                    if isinstance(each, nodes.TemplateData):
                        self._html(each.data)
                    elif self._place == "" or self._place in READ_ATTRIBUTES:
                        self._printed.append(each)
            case nodes.If(body=body, elif_=others, else_=rest):
                self._body([*body, *others, *rest])
            case nodes.For(target=target, iter=through, body=body, else_=rest):
                self._given += self._items(target, through)
                self._body([*body, *rest])
            case nodes.Assign(target=target, node=value):
                self._given.append((target, value))
            case nodes.With(targets=targets, values=values, body=body):
                self._given += zip(targets, values, strict=True)
                self._body(body)
            case nodes.Macro():
                pass  # read by itself
            case nodes.Block(body=body) | nodes.Scope(body=body) | nodes.CallBlock(body=body):
                self._body(body)

    def _html(self, text: str) -> None:
        at = 0
        while at < len(text):
            if self._place == "":
                found = _TAG.search(text, at)
                self._place = "<" if found else ""
            elif self._place == "<":
                found = _IN_TAG.search(text, at)
                self._place = (found[1] or "") if found else "<"
            else:
                found = _QUOTE.search(text, at)
                self._place = "<" if found else self._place
            at = found.end() if found else len(text)

    def _items(self, target: nodes.Node, through: nodes.Node) -> Iterator[tuple[nodes.Node, nodes.Node]]:
        """What the names of a loop stand for, where it goes through what is written there."""
        match through:
            case nodes.List(items=items) | nodes.Tuple(items=items):
                for item in items:
                    if isinstance(target, nodes.Tuple) and isinstance(item, nodes.Tuple):
                        yield from zip(target.items, item.items, strict=False)
                    else:
                        yield target, item
            case nodes.Add(left=one, right=other) | nodes.CondExpr(expr1=one, expr2=nodes.Node() as other):
                yield from self._items(target, one)
                yield from self._items(target, other)

    def _follow(self) -> None:
        while True:
            before, self.words = len(self.names), []
            for each in self._printed:
                self._read(each)
            for target, value in self._given:
                if isinstance(target, nodes.Name) and target.name in self.names:
                    self._read(value)
            if len(self.names) == before:
                return

    def _read(self, node: nodes.Node | None) -> None:
        """What of an expression can be printed."""
        match node:
            case nodes.Const(value=str() as text):
                if _LETTER.search(text):
                    self.words.append(ShownWords(node))
            case nodes.Name(name=name):
                self.names.add(name)
            case (
                nodes.CondExpr(expr1=one, expr2=other)
                | nodes.Or(left=one, right=other)
                | nodes.Add(left=one, right=other)
            ):
                self._read(one)
                self._read(other)
            case nodes.And(right=one) | nodes.Mod(left=one):
                self._read(one)
            case nodes.Concat(nodes=parts) | nodes.List(items=parts) | nodes.Tuple(items=parts):
                for part in parts:
                    self._read(part)
            case nodes.Getitem(node=nodes.Dict(items=pairs)):
                for pair in pairs:
                    self._read(pair.value)
            case nodes.Getitem(node=of):
                self._read(of)
            case nodes.Filter(name="counted", args=[nodes.Const() as one, *more]):
                self.words.append(ShownWords(one, str(more[0].as_const()) if more else f"{one.value}s"))
            case nodes.Filter(name="format"):
                pass
            case nodes.Filter(node=of):
                self._read(of)
            case nodes.Call(node=called, args=args, kwargs=named):
                name = called.name if isinstance(called, nodes.Name) else getattr(called, "attr", "")
                parameters, printed = self._known.get(name, ([], frozenset()))
                for parameter, value in zip(parameters, args, strict=False):
                    if parameter in printed:
                        self._read(value)
                for each in named:
                    if each.key in printed:
                        self._read(each.value)
