"""Writes docs/reference.md from the code: every command with its arguments and options, every field of its output.

Run `python docs/make_reference.py` after changing a command; a test fails when the page is out of date.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import typer

from kinphoto.cli.documents import documents
from kinphoto.cli.main import app

PAGE = Path(__file__).with_name("reference.md")
START = """\
# Commands and their output

This page is written from the code by `docs/make_reference.py`.

Every command works on the archive named by `--archive DIR`, else by the environment variable `KINPHOTO_ARCHIVE`, else
the one in the current folder or the nearest folder above it; `--archive` may stand before or behind the command.
`kinphoto --version` prints the version, `kinphoto help COMMAND` how a command is used. With `--json`, standard output
holds exactly one JSON document; progress and warnings go to standard error. Exit status: 0 done; 1 the request could
not be carried out (one line on standard error says what, where, and what to do about it); 2 wrong usage.

`PHOTO` is a code (`K00042`), a scan's path, or a unique end of one. `PERSON` is a tree id (`I12` or `@I12@`), the id of
somebody outside the tree (`X7`), or a name that fits one person. Dates are written as in GEDCOM (`ABT 1900`,
`BET 1900 AND 1905`) or EDTF (`1900~`, `[1900..1905]`); dates in output are ISO 8601 days.
"""


def page() -> str:
    """The whole page."""
    command, printed = typer.main.get_command(app), documents()
    return START + "".join(_section(name, c, printed.get(name, {})) for name, c in commands(command))


def commands(command: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[str, Any]]:
    """Every command that can be run, by its words ("scans add")."""
    if path and (not getattr(command, "commands", None) or command.invoke_without_command):
        yield " ".join(path).replace("people find", "people"), command  # `people` alone finds
    for name, child in (getattr(command, "commands", None) or {}).items():
        yield from commands(child, (*path, name))


def _section(name: str, command: Any, printed: dict[str, str]) -> str:
    usage = " ".join(_metavar(p) for p in command.params if p.param_type_name == "argument")
    lines = [f"\n## kinphoto {name}\n", f"```\nkinphoto {name} {usage}".rstrip() + "\n```\n", f"{command.help}\n"]
    rows = [
        f"| {_names(p).replace('|', chr(92) + '|')} | {p.help or ''} |"
        for p in command.params
        if p.name not in ("archive", "as_json")
    ]
    if rows:
        lines += ["| argument or option | meaning |\n| --- | --- |\n" + "\n".join(rows) + "\n"]
    if printed:
        fields = "\n".join(f"| `{field}` | {meaning} |" for field, meaning in printed.items())
        lines += [f"Output with `--json`:\n\n| field | meaning |\n| --- | --- |\n{fields}\n"]
    return "\n".join(lines)


def _metavar(parameter: Any) -> str:
    shown = parameter.metavar or parameter.name.upper()
    return shown if parameter.required or shown.startswith("[") else f"[{shown}]"


def _names(parameter: Any) -> str:
    if parameter.param_type_name == "argument":
        return f"`{parameter.metavar or parameter.name.upper()}`"
    value = "" if parameter.is_flag else f" {parameter.metavar or parameter.type.name.upper()}"
    return f"`{', '.join(parameter.opts)}{value}`"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
