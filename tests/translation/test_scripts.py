"""What scripts say stands in one table, which is read and sent in the language of the pages."""

from __future__ import annotations

import re
from pathlib import Path

import kinphoto
from kinphoto.translation.scripts import script_in_language, script_messages

STATIC = Path(kinphoto.__file__).parent / "web" / "static"
TABLE = """const KEY = "Not words";
export const WORDS = {
  // A note: "not this"
  saved: "Saved: \\"all\\".",
  numbered: (number, count) => `${number} of ${count}`,
};
const later = { saved: "No" };
"""


def test_the_table_is_read() -> None:
    """Its strings and what they fill in; nothing beside it."""
    assert list(script_messages(TABLE)) == [(4, 'Saved: "all".'), (5, "{number} of {count}")]


def test_the_table_in_another_language() -> None:
    """Quotation marks and signs of the script's own stay words; one that fills in something else stays English."""
    words = {'Saved: "all".': 'Alles "da" `$x`', "{number} of {count}": "{count}`\\: {number}"}
    made = script_in_language(TABLE, words.__getitem__)
    assert '  saved: "Alles \\"da\\" `$x`",\n' in made
    assert "=> `${count}\\`\\\\: ${number}`,\n" in made
    assert script_in_language(TABLE, lambda text: text.replace("{count}", "")).count("${count}") == 1
    assert script_in_language(TABLE, lambda text: text) == TABLE


def test_scripts_say_nothing_that_does_not_stand_in_the_table() -> None:
    """Of all their other strings none is words: two words in a row that are no selector, or a capital that is no key
    and no event of the browser."""
    keys = {"Enter", "Escape", "Shift", "Alt", "Space", "Esc", "ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown"}
    browser = {"AudioContext", "NotFoundError", "X-Part", "X-Elsewhere"}
    others = {"size of a frame", "frame new on", "card narrow asks-first"}  # what the browser remembers; classes
    string = re.compile(r'"((?:[^"\\\n]|\\.)*)"|`([^`\n]*)`')
    for path in sorted(STATIC.glob("*.js")):
        text = path.read_text(encoding="utf-8")
        text = re.sub(r"(?m)^\s*(//|/?\*).*$|(?<=[;{}]) // .*$", "", text)
        if path.name == "words.js":
            continue
        for found in string.finditer(text):
            own = re.sub(r"\$\{[^}]*\}", "", found[1] or found[2] or "")
            words = re.search(r"^[A-Z][a-z]+|[a-z]{2,} [a-z]{2,} [a-z]{2,}|[a-z][.?!]$", own)
            assert not words or own in keys | browser | others, (path.name, own)


def test_every_entry_is_used() -> None:
    """And every one that a script asks for is there."""
    table = set(re.findall(r"^  (\w+): ", (STATIC / "words.js").read_text(encoding="utf-8"), re.MULTILINE))
    scripts = "".join(path.read_text(encoding="utf-8") for path in STATIC.glob("*.js"))
    assert set(re.findall(r"\bWORDS\.(\w+)", scripts)) == table
