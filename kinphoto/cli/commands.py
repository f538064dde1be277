"""The headings of the help, answers to misspelt commands, and options before the command.

Only what comes with Python is imported here, so that help answers immediately.
"""

from __future__ import annotations

from difflib import get_close_matches
from typing import Any

from typer import BadParameter
from typer.core import TyperGroup

HEADINGS: tuple[tuple[str, str], ...] = (
    ("Get started", "init demo tree scans serve"),
    ("Look around", "find show list people families pictures kin proband container progress"),
    ("Say who is in a photograph", "link frame unname faces"),
    ("Say what is known about it", "state read process format relate describe"),
    ("Who told us, and what", "tell stories informant informants"),
    ("When was it taken, and what does not fit", "dates explain conflicts settle hindsight"),
    ("What to ask next", "ask who"),
    ("Give to others", "give"),
    ("Correct and undo", "withdraw reinstate remove replace undo log"),
    ("Keep it safe", "keep"),
    ("Help", "help"),
)
"""The commands under plain headings, in the order the help shows them."""
_REST = "More"

OTHER_WORDS: dict[str, str] = {
    "search": "find", "look": "find", "query": "find", "add": "scans add FOLDER", "import": "tree import FILE.ged",
    "gedcom": "tree import FILE.ged", "export": "tree write FILE.ged", "index": "scans add FOLDER",
    "join": "scans join FRONT BACK", "turn": "scans turn SCAN left", "rotate": "scans turn SCAN left",
    "view": "show PHOTO", "info": "show PHOTO", "photo": "show PHOTO", "photograph": "show PHOTO",
    "photos": "list", "photographs": "list", "ls": "list", "delete": "remove PHOTO", "rm": "remove PHOTO",
    "erase": "remove PHOTO", "name": "link PHOTO PERSON", "tag": "link PHOTO PERSON", "person": "people NAME",
    "family": "families NAME", "couple": "families NAME", "couples": "families", "box": "container list",
    "boxes": "container list", "album": "container list", "albums": "container list",
    "containers": "container list", "title": "describe PHOTO --title TEXT", "note": "describe PHOTO --note TEXT",
    "place": "describe PHOTO --place TEXT", "date": "dates PHOTO", "when": "dates PHOTO", "why": "explain PHOTO",
    "history": "log", "back": "scans join FRONT BACK", "pair": "scans pair", "backs": "scans pair",
    "rename": "scans rename", "watch": "scans watch FOLDER", "names": "scans names", "quota": "progress --quota N",
    "redo": "undo N, with the number of the undo",
    "questions": "ask", "web": "serve", "browser": "serve", "start": "serve", "version": "--version",
    "share": "give", "send": "give", "private": "give private PHOTO", "consent": "give consent PERSON",
    "new": "init DIR", "create": "init DIR", "rescan": "replace PHOTO FILE", "wedding": "state PHOTO --event EVENT",
    "story": "stories T3", "record": "tell --sound FILE", "sound": "tell --sound FILE",
    "backup": "keep backup FOLDER", "restore": "keep restore FOLDER NEW-FOLDER", "where": "scans where",
    "face": "faces", "recognise": "faces",
    "recognize": "faces", "package": "keep bag FOLDER", "bag": "keep bag FOLDER", "verify": "keep verify",
}  # fmt: skip
"""Words that people try for a command, and what to type instead."""

_MOVED = {"--archive": 1, "--json": 0}
"""Options that may come before the command, and how many values each takes."""


class Commands(TyperGroup):
    """A group of commands that shows them under headings, takes `--archive` before them too, and answers an unknown
    word with the nearest command."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Move `--archive` and `--json` from before the command to after it."""
        return list(super().parse_args(ctx, behind_command(args)))

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """The command of this name; otherwise an error that names the nearest one."""
        if args and args[0] not in self.commands and not args[0].startswith("-") and not ctx.resilient_parsing:
            ctx.fail(self.unknown(args[0], at_top=ctx.parent is None))
        name, command, rest = super().resolve_command(ctx, args)
        if command is not None and not hasattr(command, "commands") and not _takes_an_archive(command):
            rest = _without_archive(rest)
        return name, command, rest

    def invoke(self, ctx: Any) -> Any:
        """The command; where something has to be given and was not, the error says what it is, as the help does."""
        try:
            return super().invoke(ctx)
        except BadParameter as problem:
            if not problem.message and (said := getattr(problem.param, "help", None)):
                problem.message = said
            raise

    def unknown(self, word: str, *, at_top: bool) -> str:
        """The answer to a word that is not a command."""
        instead = OTHER_WORDS.get(word.casefold()) if at_top else None
        if instead is not None:
            return f"there is no command '{word}'. Use: kinphoto {instead}"
        known = {name: name for name in self.commands} | ({} if not at_top else OTHER_WORDS)
        near = dict.fromkeys(known[other] for other in get_close_matches(word.casefold(), known, n=2, cutoff=0.65))
        hint = f" Did you mean {' or '.join(near)}?" if near else ""
        return f"there is no command '{word}'.{hint}"

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """The commands under their headings; those of a group below the first level under one."""
        left = {name: self.get_command(ctx, name) for name in self.list_commands(ctx)}
        headings = HEADINGS if ctx.parent is None else ()
        width = max((len(name) for name in left), default=0)
        for heading, names in (*headings, (_REST if headings else "Commands", " ".join(left))):
            rows = [(name, left.pop(name)) for name in names.split() if name in left]
            shown = [
                (name.ljust(width), command.get_short_help_str(formatter.width - 6 - width))
                for name, command in rows
                if command is not None and not command.hidden
            ]
            if shown:
                with formatter.section(heading):
                    formatter.write_dl(shown)


def behind_command(args: list[str]) -> list[str]:
    """The same arguments with the options of `_MOVED` moved from before the first word to after it."""
    at = first_word(args)
    if at is None or not at > 0:
        return args
    return [args[at], *args[:at], *args[at + 1 :]]


def _takes_an_archive(command: Any) -> bool:
    return any("--archive" in parameter.opts for parameter in command.params)


def _without_archive(rest: list[str]) -> list[str]:
    """What follows a command that needs no archive: whoever types `--archive` before every command may do so here."""
    kept, at = list(rest), 0
    while at < len(kept) and kept[at].startswith("-"):
        option, equals, _ = kept[at].partition("=")
        if option == "--archive":
            del kept[at : at + (1 if equals else 2)]
        else:
            at += 1
    return kept


def first_word(args: list[str]) -> int | None:
    """Where the first argument is that is neither an option nor the value of one; None when an option of the whole
    program comes first."""
    at = 0
    while at < len(args):
        name, equals, _ = args[at].partition("=")
        if not name.startswith("-") or name == "-":
            return at
        if name not in _MOVED:
            return None
        at += 1 + (0 if equals else _MOVED[name])
    return None
