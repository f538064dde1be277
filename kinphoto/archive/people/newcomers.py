"""Somebody who is in no tree yet, named on a picture."""

from __future__ import annotations

from dataclasses import replace

from kinphoto.archive.people.people import add
from kinphoto.archive.statements.appearances import Link, Linked, record_link
from kinphoto.store.session import Work


def link_newcomer(work: Work, said: Link, name: str) -> tuple[Linked, list[str]]:
    """Record that somebody of this name, who is in no tree, is in a photograph. Raises what naming and linking them
    raise; then nobody was added."""
    return record_link(work, replace(said, person=add(work, name).id))
