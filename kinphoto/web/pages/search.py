"""Searching: one line, or people, a line of descent, a box, years and what is wanting, in any combination. The address
of the page is the question, so it can be kept and sent."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import shorten
from urllib.parse import urlencode

from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive.collection.container_pages import Missing
from kinphoto.archive.search.question import SearchQuery
from kinphoto.archive.search.quoting import FILE_NAMES, Quote
from kinphoto.archive.search.searching import A_PAGE
from kinphoto.web.access import archive_of, stranger
from kinphoto.web.forms import whole_number
from kinphoto.web.pages.several import WORDS_OF_SEVERAL
from kinphoto.web.render import get_route, page

MOST_QUOTED = 90  # letters of the words that are quoted under a photograph


def search(request: Request) -> Response:
    """What fits the question in the address."""
    archive = archive_of(request)
    asked = request.query_params
    question = question_of(asked)
    start = whole_number(asked.get("start")) or 0
    for_anybody = stranger(request)
    found = None if question.empty else archive.search.find(question, start, for_anybody=for_anybody)
    quotes = {} if found is None or for_anybody else archive.search.quotes(found.by_words, question)
    why = {code: _why(having) for code, having in quotes.items()}
    given = asked.multi_items()
    return page(
        request, "search.html", **WORDS_OF_SEVERAL, question=question, found=found, step=A_PAGE, why=why,
        box_names=archive.photographs.container_names(for_anybody=for_anybody),
        through=urlencode([(key, value) for key, value in given if key != "start"]),
        turned=lambda to: _address([*((key, value) for key, value in given if key != "start"), ("start", str(to))]),
        without=lambda person: _address([(key, value) for key, value in given if value != person]),
    )  # fmt: skip


def _why(having: Sequence[Quote]) -> str:
    """Which words on or about a photograph have what was looked for; "" where its title says so already."""
    if said := next((one.text for one in having if one.kind not in ("title", *FILE_NAMES)), None):
        return f"“{shorten(said, MOST_QUOTED, placeholder='…')}”"
    return "" if any(one.kind == "title" for one in having) else having[0].text


def _address(asked: list[tuple[str, str]]) -> str:
    return "/search?" + urlencode(asked)


def question_of(asked: QueryParams) -> SearchQuery:
    """The question that an address asks; what it says that makes no sense is left out."""
    wanting = asked.get("wanting")
    return SearchQuery(
        text=asked.get("q", "").strip()[:200],
        people=tuple(dict.fromkeys(one.strip() for one in asked.getlist("person") if one.strip()))[:8],
        ancestors=asked.get("ancestors", "").strip() or None,
        descendants=asked.get("descendants", "").strip() or None,
        box=whole_number(asked.get("box")) or None,
        since=whole_number(asked.get("from")),
        until=whole_number(asked.get("to")),
        missing=Missing(wanting) if wanting in list(Missing) else None,
    )


routes = [get_route("/search", search)]
