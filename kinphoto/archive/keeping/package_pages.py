"""The pages of a package: the photographs, for a browser and nothing else. Plain HTML, one page a box."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import quote

from jinja2 import Environment, PackageLoader
from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.stories import Story, read_stories
from kinphoto.archive.collection.photograph_cards import PhotographCard, cards
from kinphoto.archive.words.kinds import KINDS
from kinphoto.scans.pages import file_path
from kinphoto.scans.thumbnails import FOLDER as THUMBS
from kinphoto.scans.thumbnails import thumbnail_path
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.translation.catalogues import catalogue
from kinphoto.translation.templates import in_language

_AT_ONCE = 200
_SHOWN_BY_BROWSERS = {"JPEG", "PNG", "WEBP"}


def pages(
    connection: Connection, where: Mapping[str, str], account: str, notices: Sequence[str]
) -> Iterator[tuple[str, str | Path]]:
    """Each page and small picture: its path below `data`, and its text or the file it is a copy of. `where` has the
    place of each file in the package by where it was."""
    looks = Environment(loader=PackageLoader("kinphoto.archive.keeping", "templates"), autoescape=True)
    looks.filters["address"] = lambda path: quote(path)
    looks = in_language(looks, catalogue("given"))
    folder = folder_of(connection.engine)
    boxes = []
    for number, (box, ids) in enumerate(_boxes(connection), 1):
        page = f"pages/{number:03}.html"
        shown = []
        for start in range(0, len(ids), _AT_ONCE):
            chunk = ids[start : start + _AT_ONCE]
            facts, scans = _facts(connection, chunk), _scans(connection, chunk, where)
            for id_, card in cards(connection, chunk, drawn=False).items():
                small = _small(folder, scans[id_])
                if small is not None:
                    yield f"pages/small/{card.code}.jpg", small
                shown.append(_shown(card, scans[id_], facts[id_], f"small/{card.code}.jpg" if small else ""))
        boxes.append({"name": box, "page": page, "count": len(ids)})
        yield page, looks.get_template("package_box.html").render(box=box, photographs=shown)
    told = [{"story": one, **_heard(one, where)} for one in read_stories(connection) if not one.withdrawn]
    if told:
        yield "pages/stories.html", looks.get_template("package_stories.html").render(told=told)
    yield (
        "START HERE.html",
        looks.get_template("package.html").render(account=account, boxes=boxes, notices=notices, told=len(told)),
    )


def _heard(one: Story, where: Mapping[str, str]) -> dict[str, str]:
    path = where.get(os.path.realpath(one.recording.path), "") if one.recording else ""
    return {"sound": f"../{path}" if path else ""}


def _boxes(connection: Connection) -> list[tuple[str, list[int]]]:
    """Each container with its photographs (row ids), by its place among the others; what is in none comes last."""
    c, p = t.container.c, t.photograph.c
    rows = {row.id: row for row in connection.execute(select(c.id, c.name, c.parent_id))}

    def name(id_: int | None) -> str:
        words: list[str] = []
        while id_ is not None and id_ in rows:
            words.insert(0, rows[id_].name)
            id_ = rows[id_].parent_id
        return " › ".join(words)

    inside: dict[int | None, list[int]] = defaultdict(list)
    query = select(p.id, p.container_id).order_by(p.container_id.is_(None), p.container_id, p.position, p.id)
    for id_, box in connection.execute(query):
        inside[box].append(id_)
    return [(name(box) or "Not in a box", ids) for box, ids in inside.items()]


def _scans(connection: Connection, ids: Sequence[int], where: Mapping[str, str]) -> dict[int, list[dict[str, Any]]]:
    s = t.scan.c
    found: dict[int, list[dict[str, Any]]] = defaultdict(list)
    query = select(s.photograph_id, s.path, s.page, s.sha256, s.side, s.file_type, s.superseded)
    for row in connection.execute(
        query.where(s.photograph_id.in_(ids)).order_by(s.superseded, s.side != "recto", s.position, s.id)
    ):
        path = where.get(file_path(row.path, row.page), "")
        side = {"recto": "front", "verso": "back"}.get(row.side, row.side)
        found[row.photograph_id].append({
            "path": path, "sha256": row.sha256, "side": f"older {side}" if row.superseded else side,
            "name": Path(path).name, "shown": row.file_type in _SHOWN_BY_BROWSERS and bool(path), "page": row.page,
        })  # fmt: skip
    return found


def _small(folder: Path, scans: Sequence[Mapping[str, Any]]) -> Path | None:
    """The small copy of the front that the archive has."""
    for scan in scans[:1]:
        path = thumbnail_path(folder / THUMBS, scan["sha256"])
        if path.is_file():
            return path
    return None


def _facts(connection: Connection, ids: Sequence[int]) -> dict[int, list[str]]:
    """What is written on each photograph, or told about it."""
    s, i, p = t.statement.c, t.informant.c, t.photograph.c
    found: dict[int, list[str]] = defaultdict(list)
    described = select(p.id, p.place, p.maker, p.note, p.rights, p.former_number).where(p.id.in_(ids))
    for row in connection.execute(described):
        labels = (("Place", row.place), ("Taken by", row.maker), ("Note", row.note), ("Rights", row.rights),
                  ("Former number", row.former_number))  # fmt: skip
        found[row.id] += [f"{label}: {text}" for label, text in labels if text]
    query = select(s.photograph_id, s.kind, s.text, s.date_text, s.value, i.name).outerjoin(
        t.informant, i.id == s.informant_id
    )
    for row in connection.execute(query.where(s.photograph_id.in_(ids), s.withdrawn == 0).order_by(s.id)):
        words = KINDS.get(row.kind)
        label = (words.fact if words else "") or row.kind.replace("_", " ")
        said = " ".join(filter(None, (row.date_text, row.value, f"“{row.text}”" if row.text else "")))
        if said:
            found[row.photograph_id].append(f"{label}: {said}" + (f" ({row.name})" if row.name else ""))
    return found


def _shown(
    card: PhotographCard, scans: Sequence[Mapping[str, Any]], facts: Sequence[str], small: str
) -> dict[str, Any]:
    who = [f"{one.name}{' (perhaps)' if one.perhaps else ''}" for one in card.people]
    picture = small or next((f"../{quote(scan['path'])}" for scan in scans[:1] if scan["shown"]), "")
    return {
        "code": card.code, "title": card.title, "when": card.when, "who": ", ".join(dict.fromkeys(who)),
        "nameless": card.nameless, "facts": facts, "scans": [scan for scan in scans if scan["path"]],
        "picture": picture,
        "of": card.title or ", ".join(card.names) or card.code,
    }  # fmt: skip
