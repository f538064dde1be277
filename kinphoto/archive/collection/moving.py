"""Renaming files together with what the archive knows of them: both, or neither.

The files are renamed while the change of the rows is open, and get their old names back when it cannot be kept. Whether
it was kept shows by a token in the settings: after a kill the next command that touches files looks at that, and
reverses what was not kept.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from sqlalchemy import Connection, Engine

from kinphoto.archive.catalogue.settings import keep_setting, setting
from kinphoto.errors import ArchiveError
from kinphoto.scans import file_moves
from kinphoto.scans.file_moves import FileMove
from kinphoto.store.opening import folder_of
from kinphoto.store.session import Work, working

_TOKEN = "renamed_files"
R = TypeVar("R")


def change_and_move(engine: Engine, change: Callable[[Work], tuple[R, Sequence[FileMove]]]) -> R:
    """Carry out a change that says which files move with it. Raises what it raises, and ArchiveError when the files
    cannot be renamed or the change cannot be kept: then both are as they were."""
    reverse_interrupted(engine)
    folder, begun = folder_of(engine), None
    try:
        with working(engine, "") as work:
            done, moves = change(work)
            if moves:
                begun = file_moves.begin(folder, moves)
                keep_setting(work.connection, _TOKEN, begun.token)
                file_moves.carry_out(begun)
    except BaseException:
        if begun is not None and not file_moves.reverse(begun):
            file_moves.end(folder, begun)
        raise
    if begun is not None:
        file_moves.end(folder, begun)
    return done


def interrupted(connection: Connection) -> int:
    """How many files were about to be renamed when that was interrupted; 0 when it was not, or was kept."""
    begun = file_moves.pending(folder_of(connection.engine))
    return 0 if begun is None or setting(connection, _TOKEN) == begun.token else len(begun.moves)


def reverse_interrupted(engine: Engine) -> None:
    """Give files their old names again where renaming them was interrupted. Raises ArchiveError when that fails."""
    folder = folder_of(engine)
    begun = file_moves.pending(folder)
    if begun is None:
        return
    with working(engine, "") as work:  # whoever renames files keeps others from writing meanwhile, so nobody does now
        if file_moves.pending(folder) != begun:
            return
        failed = [] if setting(work.connection, _TOKEN) == begun.token else file_moves.reverse(begun)
        if failed:
            raise ArchiveError(
                "renaming was interrupted, and this file could not get its old name back", where=failed[0],
                remedy="Check permissions and that the disk is there, then try again.",
            )  # fmt: skip
        file_moves.end(folder, begun)
