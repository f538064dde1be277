"""What scripts read of a result: the JSON document derived from its data class, each field described beside it.

    @dataclass
    class Turned:
        scan: Annotated[str, "the scan's path"]
        faces: Annotated[int, "how many faces turned with it"]

`document(turned)` is what `--json` prints, and `described(Turned)` what docs/reference.md says of it. A property whose
return type is annotated like that is included. A field belongs to the document unless it is INTERNAL, under its own
name unless there is a Key.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable, Iterator, Sequence
from enum import Enum
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, NamedTuple, Union, get_args, get_origin, get_type_hints


class Mark(Enum):
    """How a field appears in the document."""

    INTERNAL = "left out: for the program itself"
    INLINE = "its own fields are among those of its owner"
    OR_NULL = "null when it is empty"


INTERNAL, INLINE, OR_NULL = Mark


class Key(NamedTuple):
    """What a field is called in the document, where that is not its own name."""

    name: str


_stand_ins: dict[type, tuple[type, Callable[[Any], Any]]] = {}


class Together(NamedTuple):
    """Two results as one document."""

    one: Annotated[Any, INLINE]
    other: Annotated[Any, INLINE]


class Field(NamedTuple):
    """A field of a document: its key, the attribute it is read from, its type and its description ("" for none)."""

    key: str
    attribute: str
    type: Any
    description: str
    is_inline: bool
    or_null: bool


def stand_in(original: type, document: type, of: Callable[[Any], Any]) -> None:
    """Write every `original` as the `document` that `of` makes from it."""
    _stand_ins[original] = document, of


def document(value: Any) -> Any:
    """The value as JSON has it: objects by their fields, lists, strings, numbers, null."""
    if type(value) in _stand_ins:
        value = _stand_ins[type(value)][1](value)
    if _has_fields(type(value)):
        return _of_fields(value)
    if isinstance(value, list | tuple):
        return [document(each) for each in value]
    return {key: document(each) for key, each in value.items()} if isinstance(value, dict) else value


def read_json(text: str) -> Any:
    """What was kept as JSON of a result, whose lists were tuples."""
    return _with_tuples(json.loads(text))


def _with_tuples(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(map(_with_tuples, value))
    return {key: _with_tuples(each) for key, each in value.items()} if isinstance(value, dict) else value


def described(kind: Any) -> dict[str, str]:
    """Every field of such a document by its path (`photographs[].code`), and what it is.

    `kind` is a class; a dictionary of kinds by their keys; a list with the kinds that make up each of many; or a tuple
    of kinds that make up one.
    """
    return dict(_walk(kind, "", ""))


@cache
def fields(cls: Any) -> tuple[Field, ...]:
    """The fields of the documents of a class, in their order; then its properties that are described."""
    hints = get_type_hints(cls, include_extras=True)
    names = [each.name for each in dataclasses.fields(cls)] if dataclasses.is_dataclass(cls) else list(hints)
    members = [(name, hints[name]) for name in names]
    for name, member in vars(cls).items():
        if isinstance(member, property) and str(member.fget.__annotations__.get("return")).startswith("Annotated["):
            members.append((name, get_type_hints(member.fget, include_extras=True)["return"]))
    return tuple(_field(name, *_parted(hint)) for name, hint in members if INTERNAL not in _parted(hint)[1])


def _field(name: str, kind: Any, marks: tuple[Any, ...]) -> Field:
    key = next((mark.name for mark in marks if isinstance(mark, Key)), name)
    return Field(key, name, kind, _says(marks), INLINE in marks, OR_NULL in marks)


def _says(marks: tuple[Any, ...]) -> str:
    return next((mark for mark in marks if isinstance(mark, str)), "")


def _of_fields(value: Any) -> dict[str, Any]:
    found: dict[str, Any] = {}
    kind: Any = type(value)
    for field in fields(kind):
        of = getattr(value, field.attribute)
        if not field.is_inline:
            found[field.key] = document(of or None if field.or_null else of)
        else:
            found |= dict.fromkeys(_keys(field.type)) if of is None else document(of)
    return found


def _keys(kind: Any) -> Iterator[str]:
    for field in fields(_written_as(kind)):
        yield from _keys(field.type) if field.is_inline else (field.key,)


def _walk(kind: Any, path: str, says: str) -> Iterator[tuple[str, str]]:
    kind = _written_as(kind)
    origin, parts = get_origin(kind), get_args(kind)
    if isinstance(kind, dict):
        for key, each in kind.items():
            yield from _walk(each, f"{path}.{key}" if path else key, _says(_parted(each)[1]))
    elif isinstance(kind, list | tuple):
        for each in kind:
            yield from _walk(each, f"{path}[]" if isinstance(kind, list) else path, "")
    elif origin in (list, tuple, Sequence):
        yield from _walk(parts[0], f"{path}[]", says)
    elif origin is dict and get_origin(parts[0]) is Literal:
        for key in get_args(parts[0]):
            yield f"{path}.{key}", says
    elif _has_fields(kind):
        if says:
            yield path, says
        for field in fields(kind):
            inside = path if field.is_inline else f"{path}.{field.key}" if path else field.key
            yield from _walk(field.type, inside, field.description)
    else:
        yield path, says


def _written_as(kind: Any) -> Any:
    """The type without marks and without `| None`, or what stands in for it."""
    kind = _parted(kind)[0]
    if get_origin(kind) in (Union, UnionType):
        kind = _parted(next(each for each in get_args(kind) if each is not NoneType))[0]
    return _stand_ins[kind][0] if isinstance(kind, type) and kind in _stand_ins else kind


def _parted(hint: Any) -> tuple[Any, tuple[Any, ...]]:
    """A type and its marks."""
    return (hint.__origin__, hint.__metadata__) if get_origin(hint) is Annotated else (hint, ())


def _has_fields(kind: Any) -> bool:
    return isinstance(kind, type) and (dataclasses.is_dataclass(kind) or hasattr(kind, "_fields"))
