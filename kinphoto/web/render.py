"""Filling the templates: one way to make a page, with what every page shows."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse

from kinphoto.archive.wording import life_years, when
from kinphoto.errors import AmbiguousError, KinphotoError, NotFoundError
from kinphoto.tree.wording import words
from kinphoto.web.assets import asset

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.web.access import Door


def page(request: Request, template: str, status: int = 200, **shown: Any) -> HTMLResponse:
    """The page that a template makes of these values; the archive's name, the visitor and the form token come along."""
    door: Door = request.app.state.door
    archive: Archive = request.app.state.archive
    who = door.visitor(request)
    text = environment().get_template(template).render(
        request=request,
        here=request.url.path,
        change=archive.pulse(),
        archive_name=archive.folder.absolute().name,
        keeper=who.keeper,
        token=door.token(who),
        **shown,
    )  # fmt: skip
    response = HTMLResponse(text, status)
    door.greet(request, response)
    return response


def refused(request: Request, problem: KinphotoError) -> HTMLResponse:
    """The page that says what could not be done and what to do about it."""
    status = 404 if isinstance(problem, NotFoundError) else 409 if isinstance(problem, AmbiguousError) else 422
    return page(request, "refused.html", status, problem=problem, back=request.headers.get("referer"))


@cache
def environment() -> Environment:
    """The templates, with everything that is put into them escaped."""
    made = Environment(
        loader=PackageLoader("kinphoto.web"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    made.globals["asset"] = asset
    made.filters.update(when=when, words=words, life=lambda life: life_years(life.begin, life.end), counted=counted)
    return made


def counted(number: int, one: str, many: str = "") -> str:
    """ "1 photograph", "12 photographs"."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"
