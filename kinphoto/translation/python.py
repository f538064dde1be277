"""What people read of a Python file: its strings, by where they stand.

Keys, patterns, addresses, what is compared and what is written for readers of the code are left out. The rest is read
if it looks like words, or is where only words can be: within an f-string, in what is counted, in the help of an
option. The docstring of a command is its help. What an f-string fills in is written "{title}", by a name made from its
expression.
"""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

FOLDERS = {"cli": "commands", "web": "labels"}
"""The surface of what a folder of the program says; of all others "sentences"."""

KINDS = {"error": "errors", "help": "commands", "field": "documents"}
"""Where messages of a kind belong, wherever they stand."""

UNREAD = (
    "store/migrations",
    "store/tables.py",
    "store/derived_tables.py",
    "store/table_columns.py",
    "translation",
    "documents.py",
)
"""What says nothing to people."""

ERRORS_ALONE = (
    "gedcom/languages.py",
    "gedcom/cyrillic_languages.py",
    "gedcom/romance_languages.py",
    "gedcom/slavic_languages.py",
    "gedcom/east_asian.py",
    "gedcom/old_style.py",
    "gedcom/feasts.py",
    "gedcom/spoken.py",
    "gedcom/spelling.py",
    "gedcom/vernacular.py",
    "gedcom/encodings.py",
    "gedcom/seven_rules.py",
    "gedcom/write.py",
    "share/xmp.py",
    "archive/catalogue/ages_in_languages.py",
    "archive/catalogue/ages_further_afield.py",
    "archive/catalogue/by_kinship.py",
    "archive/catalogue/life_phrases.py",
    "archive/search/question.py",
)
"""What holds the words of backs, of ages and kin as people type them, of tree files and of other formats, which are
read and written as they are."""

WORDS_ALONE = ("web/wording.py", "archive/words/kinds.py", "archive/words/fields.py", "archive/people/kin_words.py")
"""Tables that hold nothing but words, and single ones, too."""

NOT_READ = frozenset(
    "compile match fullmatch search sub finditer findall getattr hasattr setattr delattr Path open encode decode get"
    " pop startswith endswith removeprefix removesuffix split rsplit partition rpartition strip lstrip rstrip replace"
    " find rfind index count glob rglob with_suffix joinpath getenv text later Route TypeVar Literal cast import_module"
    " execute exec_driver_sql ForeignKey Column literal_column label like strftime strptime fromisoformat with_name"
    " NewType namedtuple translate maketrans get_template setdefault isinstance append_header Version".split()
)
"""Functions whose strings are for the program."""

COUNTING = ("counted", "_either")
"""Functions that are given the words for one and for several after what they count."""

GIVEN_WORDS = ("Vocabulary",)
"""Functions that are given words that people read, single ones too."""

NOT_READ_FOR = frozenset(
    "encoding errors mode name dir prefix suffix newline template metavar rich_help_panel default key id cls envvar"
    " callback filter_ media_type headers content_type path style justify overflow box format method also".split()
)
"""Names of arguments whose strings are for the program."""

_WORDS = re.compile(r"^an? \{|[^\W\d_]{2,}[,.:;]? +\S|\} \(?[^\W\d_]{2,}|^[A-Z“][^\W\d_]*[a-z]{2,}[.:?!…]?$|\w[.:?!…]$")
_CODE = re.compile(
    r"^[/?&#][^ ]*$|^/\w|^[\w.-]*[/_][\w./-]*$|^\.\w+$|^--?\w|^[a-z]+:$|^[A-Z][a-z]+[A-Z]\w*$"
    r"|^(SELECT|INSERT|UPDATE|DELETE|PRAGMA|CREATE|DROP|ALTER|WITH|PROGRESS)\b|\\|://|\(\?"
    r"|^<[a-z]+:|^(const|from [\w.]+ import|usage:) |^Bag|'(self|none)'|max-age|no-cache|^attachment;"
)
"""Addresses, paths, names of files and options, SQL, patterns, tags of XML, scripts, fields of other formats."""
_SMALL_LETTER = re.compile(r"[^\W\d_A-ZÀ-Þ]")
"""Without one it is a word of a tree file or of another format."""
_LETTER = re.compile(r"[^\W\d_]{2,}|'s\b|\ba\b")
_AROUND = " \n·"
"""What may stand around words and is not theirs."""


@dataclass(frozen=True)
class CodeWords:
    """Words in a Python file."""

    line: int
    text: str
    kind: str = ""
    """error, help, or field (of a document that `--json` prints); else a sentence, a line or a label."""
    plural: str | None = None
    node: ast.AST | None = field(default=None, repr=False, compare=False)
    """What is said there: a string, an f-string, or the function whose docstring it is; None of what is counted, which
    is looked up with its number."""


def file_messages(file: str, tree: ast.Module) -> Iterator[tuple[str, CodeWords]]:
    """The messages of a file of the program, named as it is in its folder, each with its surface."""
    if not file.startswith(UNREAD):
        for said in _Reader(file in WORDS_ALONE).read(tree):
            if said.kind != "error" and file in ERRORS_ALONE:
                continue
            yield KINDS.get(said.kind, FOLDERS.get(file.partition("/")[0], "sentences")), said


def python_messages(source: str, all_words: bool = False) -> Iterator[CodeWords]:
    """The messages of a file, in order; with `all_words`, of one that holds nothing but words and their keys."""
    yield from sorted(_Reader(all_words).read(ast.parse(source)), key=lambda said: said.line)


class _Reader:
    def __init__(self, all_words: bool) -> None:
        self._all_words = all_words
        self._found: list[CodeWords] = []

    def read(self, tree: ast.Module) -> list[CodeWords]:
        self._each(tree, "", False)
        return self._found

    def _each(self, node: ast.AST, kind: str, words: bool) -> None:
        for child in ast.iter_child_nodes(node):
            self._node(child, kind, words)

    def _node(self, node: ast.AST, kind: str, words: bool) -> None:
        """Read below a node: `kind` as for `CodeWords`, `words` where nothing but words can stand."""
        match node:
            case ast.Constant(value=str() as text):
                self._keep(node, text, kind, words)
            case ast.JoinedStr():
                self._keep(node, _joined(node), kind, words)
                for part in node.values:
                    if isinstance(part, ast.FormattedValue):
                        self._node(part.value, kind, True)
            case ast.Expr(value=ast.Constant()):
                pass  # a docstring
            case ast.FunctionDef(decorator_list=decorators) | ast.AsyncFunctionDef(decorator_list=decorators):
                said = ast.get_docstring(node)
                if said and (any(map(_makes_a_command, decorators)) or _has_options(node)):
                    paragraphs = [" ".join(each.split()) for each in said.split("\n\n")]
                    self._found.append(CodeWords(node.lineno, "\n\n".join(paragraphs), "help", node=node))
                self._each(node, kind, False)
            case ast.Call():
                self._call(node, kind, words)
            case ast.Subscript(value=ast.Name(id="Annotated"), slice=ast.Tuple(elts=[of, *notes])):
                self._node(of, kind, False)
                for note in notes:
                    self._node(note, "field" if isinstance(note, ast.Constant | ast.JoinedStr) else kind, True)
            case ast.Subscript(value=of):
                self._node(of, kind, words)
            case ast.Compare() | ast.MatchValue() | ast.ImportFrom():
                pass
            case ast.AnnAssign(annotation=annotation, value=value):
                if isinstance(annotation, ast.Subscript):
                    self._node(annotation, kind, False)
                if value is not None:
                    self._node(value, kind, words)
            case ast.Dict(values=values):
                words = words or any(_is_line(value) for value in values)  # then the other values are words, too
                for value in values:
                    self._node(value, kind, words)
            case ast.IfExp(test=test, body=one, orelse=other):
                self._node(test, kind, False)
                self._node(one, kind, words)
                self._node(other, kind, words)
            case ast.Raise():
                self._each(node, "error", False)
            case ast.Assign(targets=[ast.Name(id="__all__" | "__slots__"), *_]):
                pass
            case _:
                self._each(
                    node, kind, words and isinstance(node, ast.BoolOp | ast.BinOp | ast.List | ast.Tuple | ast.Starred)
                )

    def _call(self, node: ast.Call, kind: str, words: bool) -> None:
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if isinstance(node.func, ast.Attribute) and not self._is_split(node.func):
            self._node(node.func.value, kind, name == "join")  # what goes between the words of a list: " and "
        if name.endswith("Error"):
            kind = "error"
        if name in ("Option", "Argument"):
            kind = "help"
        strings = [each.value for each in node.args[1:] if isinstance(each, ast.Constant)]
        if name in COUNTING and strings and all(isinstance(each, str) for each in strings):
            one = str(strings[0])
            self._found.append(CodeWords(node.lineno, one, kind, str(strings[1]) if len(strings) > 1 else f"{one}s"))
            self._node(node.args[0], kind, False)
            return
        for argument in node.args:
            if name not in NOT_READ or not isinstance(argument, ast.Constant | ast.JoinedStr):
                self._node(argument, kind, name in GIVEN_WORDS)
        for named in node.keywords:
            if named.arg is None or named.arg not in NOT_READ_FOR:
                self._node(named.value, kind, named.arg == "help")

    def _is_split(self, called: ast.Attribute) -> bool:
        """Whether it is a method of a string that is written there, as of keys that are split."""
        return called.attr in NOT_READ and isinstance(called.value, ast.Constant) and not self._all_words

    def _keep(self, node: ast.Constant | ast.JoinedStr, text: str, kind: str, words: bool) -> None:
        shown = inspect.cleandoc(text).strip(_AROUND)
        own = re.sub(r"\{[^}]*\}", "", shown)
        if not _LETTER.search(own) or not _SMALL_LETTER.search(own) or _CODE.search(own):
            return
        if words or self._all_words or _WORDS.search(shown):
            self._found.append(CodeWords(node.lineno, shown, kind, node=node))


def _is_line(node: ast.expr) -> bool:
    """Whether it is a string of more than one word."""
    text = node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""
    return bool(_WORDS.search(text) and not _CODE.search(text) and " " in text)


def _makes_a_command(decorator: ast.expr) -> bool:
    return ast.unparse(decorator).partition("(")[0].endswith((".command", ".callback"))


def _has_options(node: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    """Whether it takes what is given at the command line, which only a command does."""
    notes = (note for each in node.args.args if each.annotation for note in ast.walk(each.annotation))
    names = (note.attr if isinstance(note, ast.Attribute) else getattr(note, "id", "") for note in notes)
    return any(name.endswith(("Option", "Argument")) for name in names)


def replace_words(said: CodeWords, translate: Callable[[str], str]) -> None:
    """Put the words of another language in the place of a message, in the tree that it was found in. One whose
    translation does not fill in the same stays English."""
    other = translate(said.text)
    if said.node is None or other == said.text or not fills_in_the_same(said.text, other):
        return
    match said.node:
        case ast.Constant(value=str() as text) as node:
            node.value = _in_place(text, other)
        case ast.JoinedStr() as node:
            values = _filled_in(node)
            parts = re.split(r"(\{[^{}]*\})", _in_place(_joined(node), other))
            node.values = [values.get(part) or ast.copy_location(ast.Constant(part), node) for part in parts if part]
        case ast.FunctionDef(body=[ast.Expr(value=ast.Constant() as node), *_]):
            node.value = other


def fills_in_the_same(one: str, other: str) -> bool:
    """Whether both fill in the same, each as often."""
    return sorted(_FILLED.findall(one)) == sorted(_FILLED.findall(other))


_FILLED = re.compile(r"\{[^{}]*\}|%[\d.]*[sdf]")


def _in_place(text: str, other: str) -> str:
    """Other words in the place of those of a string, with the space around them as it was."""
    start = len(text) - len(text.lstrip(_AROUND))
    return text[:start] + other + text[len(text.rstrip(_AROUND)) :] if text.strip(_AROUND) else text


def _filled_in(node: ast.JoinedStr) -> dict[str, ast.FormattedValue]:
    """What an f-string fills in, by its name in braces."""
    names: dict[str, str] = {}
    found = (part for part in node.values if isinstance(part, ast.FormattedValue))
    return {"{" + _named(part.value, names) + "}": part for part in found}


def _joined(node: ast.JoinedStr) -> str:
    names: dict[str, str] = {}
    text = ""
    for part in node.values:
        if isinstance(part, ast.Constant):
            text += str(part.value)
        elif isinstance(part, ast.FormattedValue):
            text += "{" + _named(part.value, names) + "}"
    return text


def _named(node: ast.expr, names: dict[str, str]) -> str:
    """A name for a value, another for another value of the same name."""
    name, source, number = (python_name(node) or "value")[:40].strip(" .,:;{}"), ast.unparse(node), 1
    numbered = name
    while names.setdefault(numbered, source) != source:
        number += 1
        numbered = f"{name} {number}"
    return numbered


def python_name(node: ast.expr) -> str:
    """The same for an expression of Python in an f-string: "title" for `card.title or card.code`."""
    match node:
        case ast.Name(id=name):
            return name.strip("_")
        case ast.Attribute(attr=name):
            return name
        case ast.Constant(value=str() as text):
            return text.strip()
        case ast.Subscript(value=of, slice=ast.Constant(value=str() as key)):
            return key or python_name(of)
        case ast.Subscript(value=of):
            return python_name(of)
        case ast.Call(func=ast.Name(id="counted"), args=[_, ast.Constant(value=one), *more]):
            return ast.unparse(more[0]).strip("'\"") if more else f"{one!s}s"
        case ast.Call(
            func=ast.Attribute(value=of, attr="strip" | "capitalize" | "lower" | "upper" | "rstrip" | "lstrip")
        ):
            return python_name(of)
        case ast.Call(args=[of, *_]):
            return python_name(of)
        case ast.Call(func=of):
            return python_name(of)
        case ast.IfExp(body=one, orelse=other):
            return " | ".join(dict.fromkeys(filter(None, (python_name(each) for each in (one, other)))))
        case ast.BoolOp(values=[one, *_]):
            return python_name(one)
        case ast.BinOp(left=one):
            return python_name(one)
        case ast.Starred(value=of):
            return python_name(of)
        case ast.GeneratorExp(elt=of) | ast.ListComp(elt=of):
            return python_name(of)
        case ast.List(elts=[one, *_]) | ast.Tuple(elts=[one, *_]):
            return python_name(one)
        case _:
            return ""
