"""How a visitor wants the pages to look: the size of the type and of photographs in rows, remembered by the browser."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

CHOICES = {"text": ("smaller", "usual", "larger", "largest"), "rows": ("small", "usual", "large")}
"""What can be chosen, and how, the smallest first."""
USUAL = "usual"
LASTS = 365 * 24 * 3600
"""Seconds a choice is remembered."""


def chosen(request: Request, what: str) -> str:
    """What this visitor chose."""
    value = request.cookies.get(what, USUAL)
    return value if value in CHOICES[what] else USUAL


def classes(request: Request) -> str:
    """The choices as classes of the page; "" where everything is as usual."""
    picked = ((what, chosen(request, what)) for what in CHOICES)
    return " ".join(f"{what}-{value}" for what, value in picked if value != USUAL)


def steps(request: Request, what: str) -> tuple[str | None, str | None]:
    """The next smaller and the next larger choice; None at an end."""
    every = CHOICES[what]
    at = every.index(chosen(request, what))
    return (every[at - 1] if at else None), (every[at + 1] if at + 1 < len(every) else None)


def remember(response: Response, what: str, value: str) -> None:
    """Have the browser remember a choice; anything that is none is left out."""
    if value in CHOICES.get(what, ()):
        response.set_cookie(what, value, max_age=LASTS, samesite="strict", httponly=True)
