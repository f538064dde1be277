"""What `kinphoto tree check` prints."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from kinphoto.cli.output import person
from kinphoto.phrases import opening

if TYPE_CHECKING:
    from kinphoto.archive.people.births import SuggestedBirth
    from kinphoto.archive.tree.checking import Fact, TreeCheck

_SHOWN = 50  # findings of each kind before the rest is only counted


def lines(found: TreeCheck) -> Iterator[str]:
    """The findings as a person reads them."""
    if not found.impossible and not found.unlikely:
        yield f"Nothing odd in the tree ({found.people} people)."
    if found.impossible:
        yield f"Cannot all be true ({len(found.impossible)}):"
    for number, one in enumerate(found.impossible[:_SHOWN], 1):
        yield f"{number}. {one.headline}"
        yield from (f"     {_fact_line(fact)}" for fact in one.facts)
        yield from (f"     law: {law}." for law in one.laws)
        yield f"   {one.advice}"
    yield from _more(len(found.impossible))
    if found.unlikely:
        yield f"Possible, but unlikely ({len(found.unlikely)}):"
    for odd in found.unlikely[:_SHOWN]:
        yield f"  {odd.text} ({', '.join(code for code, _ in odd.people)}). {opening(odd.limit)}."
        yield from (f"     {_fact_line(fact)}" for fact in odd.facts)
    yield from _more(len(found.unlikely))
    if found.births:
        yield f"Births that photographs suggest ({len(found.births)}):"
        yield from birth_lines(found.births[:_SHOWN])
        yield from _more(len(found.births))


def birth_lines(births: Sequence[SuggestedBirth]) -> Iterator[str]:
    """The births that photographs suggest, and that they prove nothing; also shown by the demo."""
    from kinphoto.archive.words.dates import NO_PROOF, born

    for one in births:
        tree = f"The tree says {one.tree}." if one.tree else "The tree has no date."
        yield f"  {person(one.name, one.id)}: {born(one.birth)}. {tree}"
    yield f"  {NO_PROOF}"


def _fact_line(fact: Fact) -> str:
    where = f"line {fact.line}" if fact.line else f"family {fact.family}" if fact.family else ""
    return f"{fact.told.id:<6} {fact.told.text}" + (f" [{where}]" if where else "") + "."


def _more(count: int) -> Iterator[str]:
    if count > _SHOWN:
        yield f"  and {count - _SHOWN} more (all of them with --json)"
