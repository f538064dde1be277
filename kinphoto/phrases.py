"""Numbers, lists and words of others in a sentence: one way for the command line, the pages and the log."""

from __future__ import annotations

import re
from collections.abc import Sequence


def counted(number: int, one: str, many: str = "") -> str:
    """ "1 photograph", "1,200 photographs"; `many` for words that do not just take an s: "2 people"."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def sized(size: float) -> str:
    """Bytes as people compare them: "3 kB", "22 MB", "1.4 GB" (SI prefixes, of a thousand)."""
    if size < 1e9:
        return f"{size / 1e6:,.0f} MB" if size >= 1e6 else f"{size / 1e3:,.0f} kB"
    return f"{size / 1e9:,.1f} GB"


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


CONTROLS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
"""What a terminal obeys instead of showing it, and what makes text appear in a different order: C0, DEL and C1 (ISO
6429; but a line may end and have tabs), the line ends of Unicode, the controls that turn the direction of writing round
(Unicode Standard Annex 9; the marks that turn nothing round stay), and halves of a character. Names, notes and paths
come from files of others."""


def printable(text: str) -> str:
    """The text with everything that a terminal would obey written out, as `\\x1b`."""
    return CONTROLS.sub(_written_out, text.replace("\r\n", "\n"))


def in_one_line(text: str) -> str:
    """The same in one line: the end of a line within it, as in the name of a file, is written out too, as `\\x0a`; in
    quotation marks, where words stand as somebody wrote them, it is a stroke: “Skerry Point / 1924”."""
    return _QUOTED.sub(lambda words: words[0].replace("\n", " / "), printable(text)).replace("\n", "\\x0a")


_QUOTED = re.compile("“[^”]*”")


def _written_out(found: re.Match[str]) -> str:
    letter = found[0]
    if "\udc80" <= letter <= "\udcff":  # a byte of a file's name that is not UTF-8
        return f"\\x{ord(letter) - 0xDC00:02x}"
    return f"\\x{ord(letter):02x}" if letter < "\u0100" else f"\\u{ord(letter):04x}"
