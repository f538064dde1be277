"""The least a page can cost: the same framework in a process of its own, always answering with the same 20 kB of HTML.

Prints its address, like `kinphoto serve`. Used by bench_pages.py.
"""

from __future__ import annotations

import socket

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

LINE = "<p>Twenty thousand bytes of nothing in particular, so that they have to be sent.</p>\n"
PAGE = "<!doctype html>\n<title>Bare</title>\n" + LINE * (20_000 // len(LINE))


def bare(_: Request) -> Response:
    """The page; in a thread, as all pages of kinphoto are made."""
    return HTMLResponse(PAGE)


if __name__ == "__main__":
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP) as listening:  # as kinphoto serve does
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        print(f"http://127.0.0.1:{listening.getsockname()[1]}", flush=True)
        config = uvicorn.Config(Starlette(routes=[Route("/", bare)]), log_level="warning", access_log=False)
        uvicorn.Server(config).run(sockets=[listening])
