"""How old what is kept of the dates is: after which change everything was last dated, and what was changed since."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from sqlalchemy import Connection, func, select

from kinphoto.archive.catalogue.settings import setting
from kinphoto.store import tables as t
from kinphoto.translation.catalogues import language
from kinphoto.version import __version__

AS_OF = "estimates_as_of"
SINCE = "estimates_since"
"""The keys under which it is kept after which change everything was dated, and single photographs since."""
_MOMENT = select(
    select(func.max(t.change.c.id)).scalar_subquery(),
    select(func.max(t.change_row.c.id)).scalar_subquery(),
    *(select(t.setting.c.value).where(t.setting.c.key == key).scalar_subquery() for key in (AS_OF, SINCE)),
)
"""Asked before every search and every page for somebody who has not signed in: one statement, made once."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """A moment of the archive: its newest change, and how many entries the journal held (a change can go on)."""

    change: int
    entry: int

    def __str__(self) -> str:
        return f"{self.change} {_program()} {self.entry}"


@cache
def _program() -> str:
    """What made the dates: another version may reason differently, another language says it in other words."""
    return f"{__version__}+{language()}" if language() else __version__


@dataclass(frozen=True, slots=True)
class Freshness:
    """After which change everything was last dated (None: never), the newest change, and whether nothing was changed
    in between."""

    as_of: int | None
    newest: int
    fresh: bool


def stamp(connection: Connection) -> Stamp:
    """The present moment of the archive."""
    return _moment(connection)[0]


def freshness(connection: Connection) -> Freshness:
    """How old the kept dates are."""
    now, kept, _ = _moment(connection)
    return Freshness(int(kept.split()[0]) if kept else None, now.change, kept == str(now))


def as_of(connection: Connection) -> str:
    """A word that changes whenever any row or estimate does, also within one change."""
    return "; ".join(map(str, _moment(connection)))


def _moment(connection: Connection) -> tuple[Stamp, str | None, str | None]:
    newest, entry, kept, since = connection.execute(_MOMENT).one()
    return Stamp(newest or 0, entry or 0), kept, since


def kept_entry(connection: Connection) -> int:
    """The entry of the journal (`Stamp.entry`) after which everything was last dated; 0 when it never was."""
    kept = (setting(connection, AS_OF) or "").split()
    return int(kept[2]) if len(kept) > 2 else 0
