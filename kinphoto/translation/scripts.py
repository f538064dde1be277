"""What a script says: the strings of its table `WORDS`, and the script with those of another language.

What a string fills in, `${count}`, is written "{count}" as in templates.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator

_TABLE = re.compile(r"^(?:export )?const WORDS = \{\n.*?^\};$", re.DOTALL | re.MULTILINE)
_ENTRY = re.compile(r"""(?m)(?<=^  )(\w+: (?:\(.*?\) => )?)("(?:[^"\\\n]|\\.)*"|`[^`]*`)""")
_FILLED = re.compile(r"\$\{(\w+)\}")
_NAMED = re.compile(r"\{(\w+)\}")


def script_messages(source: str) -> Iterator[tuple[int, str]]:
    """The line and the words of each entry."""
    for table in _TABLE.finditer(source):
        for entry in _ENTRY.finditer(table[0]):
            yield 1 + source.count("\n", 0, table.start() + entry.start()), _words(entry[2])


def script_in_language(source: str, translate: Callable[[str], str]) -> str:
    """The script with the words of another language; one whose translation does not fill in the same stays English."""

    def other(entry: re.Match[str]) -> str:
        words = _words(entry[2])
        new = translate(words)
        if new == words or sorted(_NAMED.findall(words)) != sorted(_NAMED.findall(new)):
            return entry[0]
        if entry[2].startswith('"'):
            return entry[1] + json.dumps(new, ensure_ascii=False)
        return entry[1] + "`" + _NAMED.sub(r"${\1}", re.sub(r"([`\\$])", r"\\\1", new)) + "`"

    return _TABLE.sub(lambda table: _ENTRY.sub(other, table[0]), source)


def _words(entry: str) -> str:
    return str(json.loads(entry)) if entry.startswith('"') else _FILLED.sub(r"{\1}", entry[1:-1])
