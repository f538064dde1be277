"""What an import did or would do, person by person: the part of `kinphoto tree import` that names people."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from kinphoto.cli.output import shortened
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.tree.importing import TreeImported
    from kinphoto.archive.tree.report import Changed, Gone, Merged

_SHOWN = 20  # people of each kind before the rest is only counted
_WHAT = {"person": "sex, note or pointer", "names": "names", "events": "dates and events", "family": "family"}


def lines(done: TreeImported) -> Iterator[str]:
    """The same for a person."""
    if done.listing is not None:
        yield from _some("New", (_called(code, name) for code, name in done.listing.added))
        yield from _some("Changed", (_changed(c) for c in done.listing.changed))
        yield from _some("No longer in the file", (_gone(g) for g in done.listing.gone))
    yield from _some("One person now", (_merged(m) for m in done.merged))
    yield from _some("Uncertain (their pictures stay where they are)", (u.text for u in done.uncertain))
    if done.listing is not None:
        yield "Nothing was changed. To import it, leave out --dry-run; kinphoto undo undoes it."


def _some(title: str, found: Iterable[str]) -> Iterator[str]:
    every = list(found)
    if every:
        yield f"{title}:"
    yield from shortened(every, _SHOWN)


def _called(code: str, name: str) -> str:
    return f"{name or 'somebody without a name'} ({code})"


def _changed(c: Changed) -> str:
    before = " and ".join([*([c.was] if c.was else []), *([c.was_code] if c.was_code else [])])
    was = f", was {before}" if before else ""
    return f"{_called(c.code, c.name)}{was}: {', '.join(_WHAT[what] for what in c.what)}"


def _gone(g: Gone) -> str:
    return _called(g.code, g.name) + ("" if g.pictures is None else f", kept with {counted(g.pictures, 'picture')}")


def _merged(m: Merged) -> str:
    return f"{_called(m.code, m.name)} is {_called(m.into, m.into_name)}; {counted(m.pictures, 'picture')} moved along"
