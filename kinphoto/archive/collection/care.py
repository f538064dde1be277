"""What to know before an original is put on the glass: in general before the first print, and about one box from what
it is called, what was said of its condition, and what its photographs are.

All of it is common practice of conservators. Words are only a reason to say something, never to call a thing safe.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.containers import within
from kinphoto.archive.catalogue.finding import find_container
from kinphoto.store import tables as t
from kinphoto.store.among import among


@dataclass(frozen=True, slots=True)
class CareAdvice:
    """A kind of original that needs care: the words it is recognised by, and what to do."""

    kind: str
    words: re.Pattern[str]
    advice: str
    at_home: bool = True
    """False for what must not be scanned at home without advice."""


def _words(*beginnings: str) -> re.Pattern[str]:
    """Words that begin like this, in any letter case."""
    return re.compile(rf"\b(?:{'|'.join(beginnings)})", re.IGNORECASE)


CARE = (
    CareAdvice(
        "film", _words("nitrate", "nitrat", "negativ", "film", "celluloid", "zelluloid"),
        "Film from before about 1950 may be nitrate, which can catch fire by itself: do not scan it, and ask a film "
        "archive or the fire service. No measurement here can show that a film is safe.", at_home=False,
    ),
    CareAdvice(
        "vinegar", _words("vinegar", "acetate", "acetat", "essig"),
        "Film that smells of vinegar is decaying: keep it apart, cool and dry, and do not scan it in a closed room.",
        at_home=False,
    ),
    CareAdvice(
        "glass", _words("glass", "glas", "lantern slide", "autochrome", "dry plate"),
        "Glass plates: two hands, emulsion side up, never under pressure. Do not scan a cracked one at home.",
        at_home=False,
    ),
    CareAdvice(
        "case", _words("case", "casing", "daguerreotyp", "ambrotyp", "etui"),
        "In a case: leave it in, and photograph it through its glass.", at_home=False,
    ),
    CareAdvice(
        "mould", _words("mould", "mold", "mildew", "musty", "fungus", "schimm"),
        "Mould: keep it apart in paper, do not wipe it, and ask a conservator before anything else is done.",
        at_home=False,
    ),
    CareAdvice(
        "stuck", _words("album", "stuck", "glued", "pasted", "scrapbook", "mounted", "eingeklebt", "verklebt"),
        "Stuck in an album: scan or photograph the whole page first, and never peel.",
    ),
    CareAdvice(
        "curled", _words("curl", "roll", "gerollt", "gewellt"),
        "Curled: do not press it flat. Photograph it as it lies, or ask a conservator to relax it.",
    ),
    CareAdvice(
        "brittle", _words("brittle", "flak", "torn", "crack", "crumbl", "loose emulsion"),
        "Torn or brittle: carry it on a sheet of paper, and use no sheet feeder.",
    ),
)  # fmt: skip
"""In the order of a report: what can hurt somebody first."""
BEFORE = (
    "Film or glass among them? Film from before about 1950 may be nitrate, which can catch fire by itself: do not scan "
    "it, and do not keep it in the house. Film that smells of vinegar is decaying: keep it apart, cool and dry. Glass "
    "plates break under the lid: two hands, emulsion up, no pressure. Nothing here can show that a film is safe.",
    "Stuck in an album: the whole page first, and never peel. Curled: do not press it flat. In a case: leave it in. "
    "Mould: keep it apart and do not wipe it; ask a conservator.",
    "No sheet feeder for old prints. Clean the scanner's glass with the print away from it, with a cloth that you have "
    "dampened; never spray.",
)
"""What is said before the first print, whatever is in the box."""


def needed(texts: Iterable[str]) -> tuple[CareAdvice, ...]:
    """The care that some words call for."""
    said = "\n".join(texts)
    return tuple(each for each in CARE if each.words.search(said))


def care(connection: Connection, container: str) -> tuple[str, ...]:
    """What to know about what is in a container and in those inside it, a sentence or two each; none where nothing
    calls for it, or for a container that is not there yet and whose name says nothing."""
    found = find_container(connection, container)
    texts = [container]
    if found is not None:
        c, e, s, p = t.container.c, t.envelope.c, t.statement.c, t.photograph.c
        boxes = {row.id: row for row in connection.execute(select(c.id, c.parent_id, c.name))}
        meant = within({id_: row.parent_id for id_, row in boxes.items()}, [found["id"]])
        texts += [boxes[id_].name for id_ in meant]
        here = select(e.holds, e.condition).where(among(connection, e.container_id, meant), e.returned.is_(None))
        texts += [text for row in connection.execute(here) for text in row]
        made = select(s.value).join(t.photograph, p.id == s.photograph_id).distinct()
        made = made.where(among(connection, p.container_id, meant), s.kind == "process", s.withdrawn == 0)
        texts += [value.replace("-", " ") for value in connection.scalars(made) if value]
    return tuple(each.advice for each in needed(texts))
