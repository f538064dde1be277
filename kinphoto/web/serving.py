"""Running the pages: from which address they are served, and ending so that nothing is cut off."""

from __future__ import annotations

import gc
import socket
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import uvicorn
from starlette.types import ASGIApp

from kinphoto.errors import ArchiveError
from kinphoto.web import limits
from kinphoto.web.app import THIS_MACHINE, make_app
from kinphoto.web.begin import Beginning

if TYPE_CHECKING:
    from kinphoto.archive import Archive

COLLECT_AFTER = 50_000
"""Objects made and not yet thrown away, before cycles among them are looked for."""
ALL = "0.0.0.0"
BACKLOG = 128
"""Connections that wait until they are taken; also how many are taken at a time."""


def serve(archive: Archive, port: int, lan: bool, started: Callable[[str], None]) -> None:
    """Serve the pages until the process is stopped; `started` is called with their address.

    Port 0 takes a free one. Raises ArchiveError when the port is taken.
    """
    listening = _listen(ALL if lan else "127.0.0.1", port)
    ours = list(_addresses()) if lan else []
    app = make_app(archive, [*THIS_MACHINE, *ours], open_to_house=lan)
    _run(app, listening, ours[0] if ours else "127.0.0.1", started)


def serve_beginning(here: Path, port: int, started: Callable[[str], None], opened: Callable[[Archive], None]) -> None:
    """Serve the page on which an archive is made or opened, and from then on the pages of that archive, on this
    computer only; `opened` is called with it. The rest is as with `serve`."""
    _run(Beginning(here, opened), _listen("127.0.0.1", port), "127.0.0.1", started)


def _run(app: ASGIApp, listening: socket.socket, address: str, started: Callable[[str], None]) -> None:
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, proxy_headers=False, ws="none",
        http=limits.protocol(limits.room_for()), timeout_keep_alive=5, timeout_graceful_shutdown=10,
        backlog=BACKLOG, h11_max_incomplete_event_size=64 * 1024,
    )  # fmt: skip
    limits.quieten()
    _collect_rarely()
    started(f"http://{address}:{listening.getsockname()[1]}/")
    uvicorn.Server(config).run(sockets=[listening])


def _collect_rarely() -> None:
    """Keep the collector of cycles from going through the whole program because a page read some thousand rows: that
    took longer than the page itself. What is loaded by now stays, and is never looked through again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(COLLECT_AFTER, 20, 20)


def _listen(address: str, port: int) -> socket.socket:
    # The protocol is named so that asyncio sees it is TCP and sends small pieces at once (TCP_NODELAY).
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((address, port))
        listening.listen(BACKLOG)  # so that the address works as soon as it is printed
    except (OSError, OverflowError) as problem:
        listening.close()
        raise ArchiveError(
            f"port {port} cannot be used ({problem})",
            remedy="Another program is using it, or it is reserved. Choose another; --port 0 takes any free one.",
        ) from problem
    return listening


def _addresses() -> Iterator[str]:
    """The addresses and names of this machine in the house network, the one it uses first."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address of no network (RFC 5737); nothing is sent
            yield probe.getsockname()[0]
        except OSError:
            pass
    name = socket.gethostname().casefold()
    yield name
    if "." not in name:
        yield f"{name}.local"
