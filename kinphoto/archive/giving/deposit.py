"""A package to deposit: a bag (BagIt 1.0, RFC 8493) of what may go to one audience, and of nothing else.

    DEPOSIT/
      bagit.txt, bag-info.txt, manifest-sha256.txt, tagmanifest-sha256.txt
      data/
        READ ME FIRST.txt    for whom it is, and what it is
        site/                the photographs, people and stories for a browser: open index.html
        copies/              the photographs in full size, with names and dates inside
        tables/              the same as CSV and JSON
        deposit.json         for whom it was made, so that no archive is made of it by mistake

It is put together from the same outputs as everything that is given, so nothing gets into it past the gate. No table of
the archive is in it, nor its history, and no name of its folder.
"""

from __future__ import annotations

import csv
import json
import os
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any

from sqlalchemy import Engine

from kinphoto.archive.catalogue.consents import HOUSEHOLD, PUBLIC
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.dates.estimates import refresh
from kinphoto.archive.giving.copies import kept_away, write_copies
from kinphoto.archive.giving.selection import Gift, Report, Wanted, gift, of_studios, refuse_empty
from kinphoto.archive.giving.site import write_site
from kinphoto.archive.keeping.bag import Bag
from kinphoto.archive.keeping.package import DEPOSIT
from kinphoto.errors import ChangedMeanwhileError, InvalidValueError
from kinphoto.gedcom.wording import month
from kinphoto.phrases import counted
from kinphoto.share.folder import LIST
from kinphoto.store.atomic import new_folder
from kinphoto.store.session import reading

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class DepositMade:
    """A package for an audience that was made, or would be."""

    report: Annotated[Report, "what goes, and what is held back and why"]
    folder: Annotated[str, "the folder of the package, or in which it would be made"]
    done: Annotated[bool, "false without `--write`: nothing was written"]
    files: Annotated[int, "how many files are in it"] = 0
    bytes: Annotated[int, "their size together"] = 0
    unusable: Annotated[tuple[str, ...], "codes of photographs whose scans cannot be read, which are not in it"] = ()


def make_deposit(
    engine: Engine,
    target: Path | str,
    audience: str,
    wanted: Wanted = Wanted(),
    *,
    write: bool = False,
    rights_asked: bool = False,
    progress: Progress | None = None,
    now: datetime | None = None,
) -> DepositMade:
    """Make a package of what may go to an audience, as a new folder in `target`; without `write` only say what would.

    Raises NotFoundError, AmbiguousError, InvalidValueError for an unusable folder, where nothing may go, or where
    photographs of studios go to others and the rights were not asked about; ArchiveError when it cannot be written, and
    ChangedMeanwhileError when what may go is changed while it is made.
    """
    place, at = Path(os.path.realpath(target)), now or datetime.now().astimezone()
    refresh(engine)
    with reading(engine) as connection:
        found = gift(connection, audience, wanted)
        studio = frozenset[str]() if rights_asked else of_studios(connection, found)
        for folder in (Path(os.path.realpath(each)) for each in kept_away(connection)):
            if place == folder or folder in place.parents:
                raise InvalidValueError(
                    "a package needs a folder outside the archive and the scans", where=str(place),
                    remedy="Name a folder somewhere else.",
                )  # fmt: skip
    if not write:
        return DepositMade(found.report, str(place), False)
    refuse_empty(found)
    if studio:
        raise InvalidValueError(
            f"{counted(len(studio), 'photograph')} by a photographer or studio have no rights recorded "
            f"({', '.join(sorted(studio)[:4])})",
            remedy="Ask who holds the copyright, record it with describe --rights, or add --rights-asked.",
        )
    name = f"photographs for {_plain(found.report.audience)} {at:%Y-%m-%d}"
    with new_folder(place, name, "the package cannot be written") as made:
        bag, unusable = _filled(engine, made.part, found, wanted, progress or (lambda _done, _total: None), at)
    return DepositMade(found.report, str(made.path), True, len(bag.sums), bag.bytes, unusable)


def _plain(audience: str) -> str:
    return re.sub(r"[^\w-]+", " ", audience).strip() or "relatives"


def _filled(
    engine: Engine, folder: Path, found: Gift, wanted: Wanted, report: Progress, at: datetime
) -> tuple[Bag, tuple[str, ...]]:
    """Everything, the manifests last; and whose scans cannot be read."""
    bag, audience = Bag(folder), found.report.audience
    data = bag.data
    copies = write_copies(
        engine, data / "copies", audience, wanted, write=True,
        progress=lambda done, total: report(done, 2 * total),
    )  # fmt: skip
    site = write_site(
        engine, data / "site", audience, wanted, rights_asked=True, write=True,
        progress=lambda done, total: report(total + done, 2 * total),
    )  # fmt: skip
    if {copies.report, site.report} != {found.report}:
        raise ChangedMeanwhileError(
            "what may go changed while the package was being made, so it was not kept", remedy="Make it again."
        )
    for made in ("copies", "site"):
        (data / made / LIST).unlink()
    _tables(data / "tables", found)
    (data / "READ ME FIRST.txt").write_text(_words(found, at), encoding="utf-8")
    head = {"for": audience, "made": at.astimezone(UTC).isoformat(timespec="seconds")}
    (data / DEPOSIT).write_text(json.dumps(head, ensure_ascii=False) + "\n", encoding="utf-8")
    for path in sorted(data.rglob("*")):
        if path.is_file():
            bag.add_written(path)
    bag.seal(
        at, f"Photographs of a family for {_to(audience)}: only what may go to them. No archive can be made of it."
    )
    return bag, tuple(sorted({one.photograph for one in (*copies.unusable, *site.unusable)}))


def _tables(folder: Path, found: Gift) -> None:
    folder.mkdir()
    who = {one.id: one for each in found.photographs for one in each.names if one.id}
    _table(folder / "photographs", [
        {
            "photo": one.code, "title": one.title, "date": one.date.words, "edtf": one.date.edtf, "place": one.place,
            "people": "; ".join(one.who), "note": one.note, "said": "; ".join(one.said), "maker": one.maker,
            "rights": one.rights, "told by": "; ".join(one.told_by), "boxes": " > ".join(one.boxes),
        }
        for one in found.photographs
    ])  # fmt: skip
    people = sorted(who.values(), key=lambda one: fold(one.name))
    _table(folder / "people", [{"id": one.id, "name": one.name, "years": one.years} for one in people])
    _table(folder / "stories", [
        {
            "story": one.id, "title": one.title, "text": one.text, "told by": one.told_by, "when": one.when,
            "photographs": "; ".join(one.photographs), "people": "; ".join(one.people),
        }
        for one in found.stories
    ])  # fmt: skip


def _table(base: Path, rows: Sequence[dict[str, Any]]) -> None:
    if not rows:
        return
    with base.with_suffix(".csv").open("w", encoding="utf-8", newline="") as file:
        sheet = csv.DictWriter(file, list(rows[0]))
        sheet.writeheader()
        sheet.writerows(rows)
    base.with_suffix(".json").write_text(json.dumps(rows, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")


def _to(audience: str) -> str:
    return {HOUSEHOLD: "the household", PUBLIC: "the public"}.get(audience, f"'{audience}'")


def _words(found: Gift, at: datetime) -> str:
    of = found.report
    goes: Iterable[str] = (
        counted(len(of.going), "photograph"),
        counted(len(of.people), "person", "people"),
        counted(len(of.stories), "story", "stories"),
    )
    return _ACCOUNT.format(to=_to(of.audience), day=f"{at:%d} {month(at.toordinal())}", goes=", ".join(goes))


_ACCOUNT = """FOR {to}
made on {day}

WHAT THIS IS

Photographs of a family, with what is known about them: {goes}. It was put
together for {to} and holds only what may go to them; it is not the whole collection. Do not pass it on to anybody else
without asking the family. The copyright of a studio portrait is usually the photographer's.

WHERE TO BEGIN

Open site/index.html in a browser. It needs no other program, no connection and no scripts.

HOW IT IS PUT TOGETHER

site/      pages with the photographs, the people in them, and stories to read and hear
copies/    the photographs in full size. Names, faces, dates and words are inside the files (XMP, IPTC, EXIF), or in
           an .xmp file beside those that cannot hold any
tables/    the same as spreadsheets (CSV) and for programs (JSON). A date that nobody stated is called "inferred";
           "edtf" is the date in the Extended Date/Time Format

IS IT WHOLE?

This folder is a bag (BagIt, RFC 8493). The checksum (SHA-256) of every file is in manifest-sha256.txt, beside the
folder "data". Any BagIt program checks them, and so does: sha256sum -c manifest-sha256.txt
"""
