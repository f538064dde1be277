"""What `kinphoto tree check` prints."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from kinphoto.phrases import opening

if TYPE_CHECKING:
    from kinphoto.archive.people.births import SuggestedBirth
    from kinphoto.archive.tree.checking import Fact, TreeCheck
    from kinphoto.reason.model.findings import BirthEstimate

_SHOWN = 50  # findings of each kind before the rest is only counted


def document(found: TreeCheck) -> dict[str, Any]:
    """Every finding, for scripts."""
    return {
        "people": found.people,
        "impossible": [
            {
                "id": one.id,
                "text": one.headline,
                "people": [{"id": code, "name": name} for code, name in one.people],
                "facts": [_fact(fact) for fact in one.facts],
                "laws": list(one.laws),
                "aside": list(one.aside),
                "advice": one.advice,
            }
            for one in found.impossible
        ],
        "unlikely": [
            {
                "kind": one.kind,
                "text": one.text,
                "people": [{"id": code, "name": name} for code, name in one.people],
                "facts": [_fact(fact) for fact in one.facts],
                "limit": one.limit,
            }
            for one in found.unlikely
        ],
        "births": [{"id": one.id, "name": one.name, "tree": one.tree, **birth(one.birth)} for one in found.births],
    }


def birth(suggested: BirthEstimate) -> dict[str, Any]:
    """A birth that photographs suggest, for scripts; `kinphoto people` has it likewise."""
    from kinphoto.archive.words.dates import born
    from kinphoto.reason.model.span import iso

    return {
        "likely_from": iso(suggested.likely_from),
        "likely_to": iso(suggested.likely_to),
        "best": iso(suggested.best),
        "photographs": suggested.photographs,
        "text": born(suggested),
    }


def _fact(fact: Fact) -> dict[str, Any]:
    said = fact.told
    return {
        "id": said.id,
        "kind": said.kind,
        "text": said.text,
        "trust": said.trust,
        "line": fact.line,
        "family": fact.family,
    }


def lines(found: TreeCheck) -> Iterator[str]:
    """The findings as a person reads them."""
    if not found.impossible and not found.unlikely:
        yield f"Nothing odd in the tree ({found.people} people)."
    if found.impossible:
        yield f"Cannot all be true ({len(found.impossible)}):"
    for number, one in enumerate(found.impossible[:_SHOWN], 1):
        yield f"{number}. {one.headline}"
        yield from (f"     {_told(fact)}" for fact in one.facts)
        yield from (f"     law: {law}." for law in one.laws)
        yield f"   {one.advice}"
    yield from _more(len(found.impossible))
    if found.unlikely:
        yield f"Possible, but unlikely ({len(found.unlikely)}):"
    for odd in found.unlikely[:_SHOWN]:
        yield f"  {odd.text} ({', '.join(code for code, _ in odd.people)}). {opening(odd.limit)}."
        yield from (f"     {_told(fact)}" for fact in odd.facts)
    yield from _more(len(found.unlikely))
    if found.births:
        yield f"Births that photographs suggest ({len(found.births)}):"
        yield from birth_lines(found.births[:_SHOWN])
        yield from _more(len(found.births))


def birth_lines(births: Sequence[SuggestedBirth]) -> Iterator[str]:
    """The births that photographs suggest, and that they prove nothing; also told by the demo."""
    from kinphoto.archive.words.dates import NO_PROOF, born

    for one in births:
        tree = f"The tree says {one.tree}." if one.tree else "The tree has no date."
        yield f"  {one.name or 'no name'} ({one.id}): {born(one.birth)}. {tree}"
    yield f"  {NO_PROOF}"


def _told(fact: Fact) -> str:
    where = f"line {fact.line}" if fact.line else f"family {fact.family}" if fact.family else ""
    return f"{fact.told.id:<6} {fact.told.text}" + (f" [{where}]" if where else "") + "."


def _more(count: int) -> Iterator[str]:
    if count > _SHOWN:
        yield f"  and {count - _SHOWN} more (all are in the --json output)"
