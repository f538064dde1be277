"""The photographs that a visitor has laid on the table: their codes, in order, remembered by the browser."""

from __future__ import annotations

import re
from collections.abc import Iterable

from starlette.requests import Request
from starlette.responses import Response

COOKIE = "table"
MOST = 80
"""Photographs on the table at a time: a cookie holds no more."""
LASTS = 30 * 24 * 3600
"""Seconds it is remembered."""
_CODE = re.compile(r"[A-Z]\d{1,9}")


def laid(request: Request) -> list[str]:
    """The codes of what is there; some may be gone from the archive."""
    return _clean(request.cookies.get(COOKIE, "").split("."))


def lay(response: Response, codes: Iterable[str]) -> None:
    """Have the browser remember these, instead of what was there."""
    response.set_cookie(COOKIE, ".".join(_clean(codes)), max_age=LASTS, samesite="strict", httponly=True)


def _clean(codes: Iterable[str]) -> list[str]:
    return [code for code in dict.fromkeys(codes) if _CODE.fullmatch(code)][:MOST]
