"""Numbers and lists in a sentence: one way for the command line, the pages and the log."""

from __future__ import annotations

from collections.abc import Sequence


def counted(number: int, one: str, many: str = "") -> str:
    """ "1 photograph", "1,200 photographs"; `many` for words that do not just take an s: "2 people"."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def listed(words: Sequence[str]) -> str:
    """ "Ada", "Ada and Tom", "Ada, Tom and Ruth"; "" for nobody."""
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else "".join(words)


def nth(number: int) -> str:
    """ "1st", "2nd", "3rd", "11th"."""
    end = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{end}"


def opening(clause: str) -> str:
    """The clause as the start of a sentence: "Ada looks seven" for "ada looks seven"."""
    return clause[:1].upper() + clause[1:]
