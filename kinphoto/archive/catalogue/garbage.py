"""Keeping the collector of cycles out of work that makes a million small things and no garbage."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def no_collection() -> Iterator[None]:
    """Keep the collector out.

    What an import of a tree holds on to only grows, and none of it is garbage: the records are taken apart as they
    pass. Looking for some there, again and again, took a third of the time; the same goes for looking a tree through,
    and for what dating an archive gathers.
    """
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if enabled:
            gc.enable()
