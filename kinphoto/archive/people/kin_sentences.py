"""How two people are related, in whole sentences: for the command line and for the pages."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from kinphoto.archive.people.kinship import KinPath, Kinship, Somebody
from kinphoto.phrases import counted


def sentences(found: Kinship, called: Callable[[Somebody], str]) -> Iterator[str]:
    """What each is to the other, or that nothing was found and where that may come from; `called` names a person."""
    one, other = found.one, found.other
    first, second = called(one), called(other)
    if found.same:
        yield f"Both are {first}."
    elif not found.paths:
        yield (
            f"No relationship found between {first} and {second}: no common ancestor, no marriage at "
            f"the end of a line, and no marriages that link them within {found.within} steps."
        )
        for who in (one, other):
            if who.outside or who.gone:
                where = "outside the tree" if who.outside else "no longer in the tree"
                yield f"{who.name or who.id} is {where}, so their family may not be recorded."
    else:
        yield f"{first} is {_whose(other)} {found.words}."
        if found.in_return != found.words:
            yield f"{second} is {_whose(one)} {found.in_return}."


def how(path: KinPath, called: Callable[[Somebody], str]) -> Iterator[str]:
    """Through which people one relation leads, and how closely."""
    if path.through:
        yield f"through {' and '.join(map(called, path.through))}"
    if path.up and path.down:
        shared = " and ".join(map(called, path.ancestors))
        yield f"common ancestors {shared}" if len(path.ancestors) > 1 else f"common ancestor {shared}"
    if path.up or path.down:
        yield ", ".join(_generations(path))
    if path.civil:
        yield f"civil degree {path.civil}, canon degree {path.canon}"
    elif path.marriages == 1 and not path.through:
        yield "by marriage"


def _generations(path: KinPath) -> Iterator[str]:
    """ "2 generations up", "1 down" """
    if path.up:
        yield counted(path.up, "generation up", "generations up")
    if path.down:
        yield f"{path.down} down" if path.up else counted(path.down, "generation down", "generations down")


def _whose(one: Somebody) -> str:
    return f"{one.name or one.id}'s"
