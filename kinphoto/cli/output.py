"""What every command shares: the options `--archive` and `--json`, opening the archive, printing one answer.

Nothing heavy is imported at module level here or in any other file of `cli/`, so that `kinphoto --help` and the
completion of the shell answer immediately: commands import what they need when they run.
"""

from __future__ import annotations

import atexit
import json
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kinphoto.phrases import CONTROLS, in_one_line

if TYPE_CHECKING:
    from kinphoto.archive import Archive

ArchiveOption = Annotated[
    Path | None,
    typer.Option(
        "--archive",
        envvar="KINPHOTO_ARCHIVE",
        help="The archive's folder. Otherwise this folder or the nearest one above it that holds an archive.",
        show_default=False,
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]


def open_archive(folder: Path | None) -> Archive:
    """The archive a command works on; raises ArchiveError when there is none."""
    from kinphoto.archive import Archive
    from kinphoto.errors import ArchiveError

    folder = folder or nearest_archive()
    if folder is not None:
        return closed_at_exit(Archive.open(folder))
    raise ArchiveError(
        "there is no archive in this folder or above it",
        where=str(Path.cwd()),
        remedy="Go to one, name one with --archive DIR, or make one: kinphoto init DIR.",
    )


def nearest_archive() -> Path | None:
    """This folder or the nearest one above it that holds an archive; None where there is none."""
    from kinphoto.store.opening import is_here

    here = Path.cwd()
    return next(filter(is_here, (here, *here.parents)), None)


def say(line: str) -> None:
    """A line of the answer, on standard output."""
    sys.stdout.write(in_one_line(line) + "\n")


def closed_at_exit(archive: Archive) -> Archive:
    """An archive that is closed when the command ends, so that `kinphoto.db` alone holds everything then."""
    atexit.register(archive.close)
    return archive


def answer(as_json: bool, found: Any, lines: str | Iterable[str]) -> None:
    """Print what was found as a JSON document, or the line or lines of it for a reader, which are only made for one.

    The document is derived from the data class of what was found (`cli/documents.py`). JSON keeps every letter of the
    data; those that a terminal would obey are escaped as JSON does it.
    """
    if as_json:
        from kinphoto.cli.documents import document

        text = json.dumps(document(found), ensure_ascii=False, indent=2)
        sys.stdout.write(CONTROLS.sub(lambda found: f"\\u{ord(found[0]):04x}", text) + "\n")
        return
    for line in [lines] if isinstance(lines, str) else lines:
        say(line)


def shortened(lines: Sequence[str], most: int) -> Iterator[str]:
    """The first lines of one kind, indented, and how many more there are."""
    yield from (f"  {line}" for line in lines[:most])
    if len(lines) > most:
        yield f"  and {len(lines) - most} more (all of them with --json)"


def person(name: str, id_: str, years: str = "") -> str:
    """ "Ada Marsh (I12, 1890 to 1961)" """
    return f"{name or 'no name'} ({id_}{f', {years}' if years else ''})"


def warn(line: str) -> None:
    """A line for the person, on standard error."""
    sys.stderr.write(in_one_line(line) + "\n")


@contextmanager
def errors_in_one_line() -> Iterator[None]:
    """Turn a KinphotoError into one line on standard error and exit status 1."""
    from kinphoto.errors import KinphotoError

    try:
        yield
    except KinphotoError as problem:
        warn(f"kinphoto: {problem}")
        raise SystemExit(1) from None
    except UnicodeEncodeError as problem:
        if "surrogates" not in problem.reason:
            raise
        typed = problem.object.encode(errors="backslashreplace").decode()
        warn(f"kinphoto: '{typed}' is not UTF-8. Set the terminal to UTF-8 and type it again; nothing was changed.")
        raise SystemExit(1) from None
    except BrokenPipeError:
        # The reader of our output (`| head`) has gone: nothing is wrong. Keep Python from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise SystemExit(0) from None
    except KeyboardInterrupt:
        warn("kinphoto: stopped. What was finished is kept; run the same command again to go on.")
        raise SystemExit(130) from None


@contextmanager
def progress_bar(what: str) -> Iterator[Callable[[int, int], None] | None]:
    """A bar with the time left on standard error, if somebody is watching it."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn(what),
        BarColumn(),
        TaskProgressColumn(),
        TimeRemainingColumn(),
        TextColumn("left"),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("", total=None)
        yield lambda done, total: progress.update(task, completed=done, total=total)
