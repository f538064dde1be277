"""`kinphoto scans watch`: indexing what a scanner writes, as it writes it."""

from __future__ import annotations

import json
import signal
import sys
from collections.abc import Iterator
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING, Annotated, Any

import typer

from kinphoto.cli.output import ArchiveOption, open_archive, say, warn

if TYPE_CHECKING:
    from kinphoto.archive.collection.watching import WatchEvent


def watch(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder that the scanner writes into.")],
    container: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="The box, album or envelope they are from; otherwise the folder's name."),
    ] = None,
    theme: Annotated[
        str | None,
        typer.Option(metavar="THEME", help="What names begin with; otherwise the same as those in the folder."),
    ] = None,
    network: Annotated[
        bool | None,
        typer.Option("--network/--local", help="Whether it is on the network; otherwise as the system says."),
    ] = None,
    archive: ArchiveOption = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print one JSON document a line for each thing seen.")
    ] = False,
) -> None:
    """Watch the scanner's folder: add each scan when its file is complete, and say what is wrong with it immediately.

    Each line shows the scan, what to look at while the print is still on the glass, the next name and tonight's count;
    the bell rings when something is wrong. The page *At the scanner* (`kinphoto serve`) shows the same in large
    letters. Files are only read. Ctrl-C stops; nothing is lost, and the next start catches up.
    """
    from kinphoto.archive.collection.care import BEFORE

    store, stop = open_archive(archive), Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: stop.set())

    def tell(seen: WatchEvent) -> None:
        if as_json:
            say(_document(seen))
        else:
            for line in _lines(seen):
                say(line)
        sys.stdout.flush()
        if not seen.good and sys.stderr.isatty():
            sys.stderr.write("\a")
            sys.stderr.flush()

    if not as_json:
        warn("Ctrl-C stops watching.")
        for line in (*BEFORE, *store.photographs.care(container or folder.name or "scans")):
            warn(line)
    store.scans.watch(folder, tell, stop, container=container, theme=theme, network=network)


def _document(seen: WatchEvent) -> str:
    from kinphoto.cli.documents import document

    found: Any = document(seen)
    return json.dumps(found, ensure_ascii=True)


def _lines(seen: WatchEvent) -> Iterator[str]:
    after = [seen.tonight.words] if seen.photograph else []
    if seen.next and seen.what in ("scan", "started"):
        after.append(f"next: {seen.next}")
    yield "  ".join((seen.words, *(f"[{each}]" for each in after)))
    yield from (f"  ! {note}" for note in seen.notes)
