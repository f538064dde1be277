"""What is typed into a page: read within bounds of size and time, from our own forms only, and answered by a page.

Every form is an ordinary post that works without scripts. When it was carried out the browser is sent on to a page;
when not, the page that the form stood on is shown with the one line that says what and why.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path
from urllib.parse import parse_qsl, quote, unquote, urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from kinphoto.errors import InvalidValueError, KinphotoError
from kinphoto.web.access import access_of, archive_of, own_path, to_sign_in
from kinphoto.web.carried import MOST_CARRIED, sent_by_script, too_long_to_wait, wait_for_password
from kinphoto.web.done import noting_what_was_done
from kinphoto.web.guard import CLOSE, LARGEST_FORM, announced
from kinphoto.web.render import expired, refused

TOKEN = "token"
INFORMANT_COOKIE = "last_informant"
MOST_FIELDS = 2000
LONGEST = 1000
LONGEST_WORDS = 50_000
"""Letters of one field, and of one for longer words."""
WORDS = frozenset(("text", "note"))
READ_WITHIN = 30.0
"""Seconds within which a form has to arrive."""
LARGEST_OF_ANYBODY = 16 * 1024
"""Bytes of a form that anybody may send."""
_UNSHOWN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
"""Control characters (Unicode's category Cc) but for tabs and the ends of lines."""
_CODE = re.compile(r"[Kk]\d+")
_PHOTOGRAPH = re.compile(r"/photograph/(K\d+)")


class Form(dict[str, str]):
    """The fields of a form; one that occurs several times has its last value here, and all of them in `lists`."""

    def __init__(self, pairs: list[tuple[str, str]]) -> None:
        super().__init__(pairs)
        self.lists: dict[str, list[str]] = {}
        for key, value in pairs:
            self.lists.setdefault(key, []).append(value)

    def all(self, key: str) -> list[str]:
        """Every value of a field, in order."""
        return self.lists.get(key, [])

    def text(self, key: str) -> str | None:
        """What was typed into a field, without the space around it; None for nothing."""
        return self.get(key, "").strip() or None

    def day(self, key: str) -> date | None:
        """The day in a field, as the browser's calendar gives it; None for nothing. Raises InvalidValueError."""
        typed = self.text(key)
        try:
            return None if typed is None else date.fromisoformat(typed)
        except ValueError as problem:
            raise InvalidValueError(f"'{typed}' is not a day", remedy="Write it like 2026-05-09.") from problem

    def number(self, key: str) -> int | None:
        """The whole number in a field; None for nothing. Raises InvalidValueError for anything else."""
        text = self.text(key)
        number = whole_number(text, 18)
        if text is not None and number is None:
            raise InvalidValueError(f"'{text[:40]}' is not a number", remedy="Reload the page and try again.")
        return number

    def check(self) -> None:
        """Refuse what nobody types: control characters, and more than a field can hold. What stood in a field before
        (`was_`) may go back as long as it is. Raises InvalidValueError."""
        for key, value in ((key, value) for key, values in self.lists.items() for value in values):
            if _UNSHOWN.search(value):
                raise InvalidValueError(
                    "it contains a character that cannot be shown",
                    remedy="Type the words instead of pasting them.",
                )
            most = LONGEST_WORDS if key in WORDS else LONGEST
            if len(value) > most and not key.startswith("was_") and value != self.get(f"was_{key}"):
                raise InvalidValueError(f"that is longer than {most:,} letters", remedy="Shorten it and try again.")


def photographs_in(typed: str) -> list[str]:
    """The photographs that somebody typed: titles with semicolons or lines between them; codes may follow one another
    with spaces or commas."""
    found: list[str] = []
    for part in (one.strip() for one in re.split(r"[;\n]", typed)):
        words = re.split(r"[\s,]+", part.strip(" ,"))
        found += words if all(map(_CODE.fullmatch, words)) else [part] if part else []
    return found


def whole_number(text: str | None, digits: int = 8) -> int | None:
    """The whole number that a text is, of at most this many digits; None when it is anything else."""
    plain = (text or "").strip()
    return int(plain) if plain.isascii() and plain.isdecimal() and len(plain) <= digits else None


def whole_path(typed: str | None) -> Path | None:
    """A folder that was typed; None for none. Raises InvalidValueError for a part of a path: a visitor cannot know in
    which folder the program was started."""
    if typed is None:
        return None
    folder = Path(typed).expanduser()
    if not folder.is_absolute():
        raise InvalidValueError(
            f"'{typed[:80]}' is only a part of a path", remedy=f"Type all of it, such as {Path.home() / 'family'}."
        )
    return folder


def post_route(
    path: str, carry_out: Callable[[Request, Form], Response], *, by_anybody: bool = False,
    most_of_anybody: int = LARGEST_OF_ANYBODY,
) -> Route:  # fmt: skip
    """A route for a form: `carry_out` runs in a thread of its own, with the sender checked and the fields read.

    What it raises as a KinphotoError is shown as a page of one line, and nothing was changed; otherwise the whole
    archive is dated again in the background. Only the keeper's forms are carried out, unless it is `by_anybody`;
    those of others lead to where one signs in, with what was typed (`carried.py`), and what anybody may send is short.
    """

    async def endpoint(request: Request) -> Response:
        access = access_of(request)
        visitor = access.visitor(request)
        waits = not visitor.keeper and not by_anybody
        if waits and sent_by_script(request):
            return to_sign_in(request)
        try:
            form = await read(request, most_of_anybody if by_anybody else MOST_CARRIED if waits else LARGEST_FORM)
        except ClientDisconnect:
            return PlainTextResponse("Only part of the form arrived. Go back and try again.\n", 400)
        except TimeoutError:
            return PlainTextResponse("The form took too long to arrive. Go back and try again.\n", 408, headers=CLOSE)
        except ValueError:
            if waits:
                return await run_in_threadpool(too_long_to_wait, request)
            return PlainTextResponse("That is more than one form can hold.\n", 413, headers=CLOSE)
        if waits:
            return await run_in_threadpool(wait_for_password, request, form.lists)
        if not access.accepts_token(visitor, form.get(TOKEN, "")):
            return await run_in_threadpool(expired, request, None if by_anybody else form.lists)
        try:
            answer = await run_in_threadpool(_checked, carry_out, request, form)
        except KinphotoError as problem:
            return await run_in_threadpool(refused, request, problem, form.lists)
        request.app.state.refresh.poke()
        return answer

    return Route(path, endpoint, methods=["POST"])


def _checked(carry_out: Callable[[Request, Form], Response], request: Request, form: Form) -> Response:
    form.check()
    shown = _PHOTOGRAPH.match(form.get("next", ""))
    photograph = request.path_params.get("code") or form.text("photograph") or (shown[1] if shown else None)
    with noting_what_was_done(request, photograph, form.text("by")):
        return carry_out(request, form)


async def read(request: Request, most: int = LARGEST_FORM) -> Form:
    """The fields of a posted form. Raises ValueError when it holds more than a form may (`most` bytes), TimeoutError
    when it does not arrive in time, ClientDisconnect when it does not arrive at all."""
    if (announced(request.headers) or 0) > most:
        raise ValueError("too long")
    body = bytearray()
    async with asyncio.timeout(READ_WITHIN):
        async for piece in request.stream():
            body += piece
            if len(body) > most:
                raise ValueError("too long")
    text = body.decode("utf-8", "replace")
    return Form(parse_qsl(text, keep_blank_values=True, max_num_fields=MOST_FIELDS))


def back(form: Form, otherwise: str) -> RedirectResponse:
    """On to the page the form asks for with its field `next`, if it is a path of these pages; else to `otherwise`."""
    return RedirectResponse(own_path(form.get("next", "")) or otherwise, 303)


def back_to_scan(form: Form, page: str) -> RedirectResponse:
    """On to this page for the scan that the form was about."""
    return RedirectResponse(f"{page}?{urlencode({'scan': form.text('scan') or ''})}", 303)


def dated_and_back(request: Request, form: Form, otherwise: str, codes: list[str] | None = None) -> RedirectResponse:
    """Estimate the dates that a change touched (of these photographs only, if given), then go on as `back` does."""
    archive_of(request).dates.refresh_photographs(codes)
    return back(form, otherwise)


def last_informant(request: Request) -> str:
    """Who told us something last, in this browser, so that their name need not be typed at every face."""
    return unquote(request.cookies.get(INFORMANT_COOKIE, ""))


def remember_informant(response: Response, form: Form) -> Response:
    """The answer to a form, with a cookie for whoever it names as the informant."""
    if by := form.text("by"):
        response.set_cookie(INFORMANT_COOKIE, quote(by), max_age=12 * 3600, samesite="strict", httponly=True)
    return response
