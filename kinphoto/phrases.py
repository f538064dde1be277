"""How numbers and lists are said in a sentence: one way for the command line, the pages and the log."""

from __future__ import annotations

from collections.abc import Sequence


def counted(number: int, one: str, many: str = "") -> str:
    """ "1 photograph", "1,200 photographs"; `many` for words that do not just take an s: "2 people"."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def listed(words: Sequence[str]) -> str:
    """ "Ada", "Ada and Tom", "Ada, Tom and Ruth"; "" for nobody."""
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else "".join(words)


def opening(clause: str) -> str:
    """The clause as a sentence begins: "ada looks seven" as "Ada looks seven"."""
    return clause[:1].upper() + clause[1:]
