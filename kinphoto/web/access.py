"""Who is looking. On this machine that is the keeper, who sees everything; when the pages are opened to the house
network, only those who have signed in see living people and may change anything.

Visitors are recognised by a signed cookie; nothing is kept on the server. Each visit also has a secret
of its own, from which the token of every form is made.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlencode, urlsplit

from itsdangerous import BadSignature, URLSafeTimedSerializer
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.store.atomic import atomic_write

if TYPE_CHECKING:
    from kinphoto.archive import Archive

CREDENTIALS = "pages.json"
"""The file of an archive that holds the key of its cookies and, once the pages were opened to the house, the hash of
the password. Readable by its owner only; without it, everybody signs in again."""
SHORTEST_SECRET = 32
"""Letters; with a shorter one anybody could make cookies."""
COOKIE = "kinphoto"
NUMBER = 32
"""Letters of a form's token that stand for the visit."""
LASTS = 30 * 24 * 3600
"""Seconds a visit is remembered."""


@dataclass(frozen=True, slots=True)
class Visitor:
    """One browser: the number of its visit, and whether it may see and change everything."""

    visit: str
    keeper: bool


@dataclass(frozen=True, slots=True)
class Credentials:
    """The secret of an archive's pages, and the hash of the password; None when the pages are for this machine only."""

    secret: str
    password: str | None = None

    @classmethod
    def of(cls, folder: Path) -> Credentials:
        """Those of an archive, made when first needed; where the archive may only be read, for this time only."""
        path = folder / CREDENTIALS
        try:
            kept = json.loads(path.read_text(encoding="utf-8"))
            secret, password = str(kept["secret"]), kept.get("password")
        except PermissionError:  # they are somebody else's, and stay
            return cls(secrets.token_urlsafe(32))
        except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
            secret, password = "", None
        if len(secret) < SHORTEST_SECRET or not isinstance(password, str | None):
            credentials = cls(secrets.token_urlsafe(32))
            if os.access(folder, os.W_OK):
                credentials.keep(folder)
            return credentials
        return cls(secret, password)

    def keep(self, folder: Path) -> None:
        """Write them, whole or not at all, for the owner's eyes only. Raises ArchiveError when that cannot be."""
        remedy = "Move whatever is in its place, and make sure you may write to the folder."
        with atomic_write(
            folder / CREDENTIALS, "the password file of the pages cannot be written", remedy, private=True
        ) as part:
            part.write_text(json.dumps({"secret": self.secret, "password": self.password}), encoding="utf-8")


@dataclass(frozen=True, slots=True)
class Access:
    """Who may see and change what: `open_to_house` is True when others at home can reach the pages."""

    credentials: Credentials
    open_to_house: bool = False

    def visitor(self, request: Request) -> Visitor:
        """Who sent this request; a new visitor gets a visit of their own (see `set_new_cookie`)."""
        known = getattr(request.state, "visitor", None)
        if known is None:
            known = request.state.visitor = self._read(request)
        return known

    def set_new_cookie(self, request: Request, response: Response) -> None:
        """Give the browser its cookie, if it has no valid one."""
        visitor = self.visitor(request)
        if getattr(request.state, "fresh", False):
            self.set_cookie(response, visitor)

    def set_cookie(self, response: Response, visitor: Visitor) -> None:
        """Set the cookie of a visit. That everybody at this machine is the keeper is not written into it: it would hold
        when the pages are opened to the house."""
        value = self._signer().dumps([visitor.visit, visitor.keeper and self.open_to_house])
        response.set_cookie(COOKIE, value, max_age=LASTS, httponly=True, samesite="strict")

    def token(self, visitor: Visitor) -> str:
        """What a form must contain during this visit: a number for the visit, and a seal that only we can make."""
        number = hashlib.sha256(visitor.visit.encode()).hexdigest()[:NUMBER]
        return number + self._seal(number, keeper=visitor.keeper)

    def accepts_token(self, visitor: Visitor, token: str) -> bool:
        """Whether a form that brought this token came from one of our pages, as shown to this visitor."""
        return hmac.compare_digest(token.encode("utf-8", "replace"), self.token(visitor).encode())

    def from_a_keeper(self, token: str) -> bool:
        """Whether a form that brought this token came from a page of ours that was shown to somebody signed in, in
        whichever visit."""
        seal = self._seal(token[:NUMBER], keeper=True)
        return hmac.compare_digest(token[NUMBER:].encode("utf-8", "replace"), seal.encode())

    def _seal(self, number: str, *, keeper: bool) -> str:
        sealed = (b"form of a keeper " if keeper else b"form of a stranger ") + number.encode("utf-8", "replace")
        return hmac.new(self.credentials.secret.encode(), sealed, hashlib.sha256).hexdigest()

    def _read(self, request: Request) -> Visitor:
        try:
            visit, keeper = self._signer().loads(request.cookies.get(COOKIE, ""), max_age=LASTS)
        except (BadSignature, ValueError, TypeError):
            request.state.fresh = True
            return Visitor(new_visit(), keeper=not self.open_to_house)
        return Visitor(str(visit), bool(keeper) or not self.open_to_house)

    def _signer(self) -> URLSafeTimedSerializer:
        return URLSafeTimedSerializer(self.credentials.secret, salt="visit")


def new_visit() -> str:
    """A number for a visit that nobody can guess."""
    return secrets.token_urlsafe(12)


def archive_of(request: Request) -> Archive:
    """The archive whose pages are served."""
    archive: Archive = request.app.state.archive
    return archive


def access_of(request: Request) -> Access:
    """Who may see and change it."""
    access: Access = request.app.state.access
    return access


def visitor(request: Request) -> Visitor:
    """Who sent this request."""
    return access_of(request).visitor(request)


def stranger(request: Request) -> bool:
    """Whether who asks has not signed in: the archive is to answer them as it would anybody (`for_anybody`)."""
    return not visitor(request).keeper


def keepers_only(endpoint: Callable[[Request], Response]) -> Callable[[Request], Response]:
    """A page for keepers: anybody else is sent on to sign in."""

    @wraps(endpoint)
    def guarded(request: Request) -> Response:
        return endpoint(request) if visitor(request).keeper else to_sign_in(request)

    return guarded


def to_sign_in(request: Request) -> Response:
    """On to the page where one signs in, and from there back here; after a form, to the page that it stood on."""
    here: str | None = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    if request.method == "POST":
        here = came_from(request)
    return RedirectResponse(f"/sign-in?{urlencode({'next': here})}" if here else "/sign-in", 303)


def came_from(request: Request) -> str | None:
    """The page of ours that led here."""
    parts = urlsplit(request.headers.get("referer", ""))
    came = f"{parts.path}{f'?{parts.query}' if parts.query else ''}"
    ours = parts.netloc == request.headers.get("host") and came.startswith("/") and not came.startswith("//")
    return came if ours else None


def own_path(address: str) -> str | None:
    """The address when it is a path of these pages; None for anything that leads elsewhere."""
    try:
        parts = urlsplit(address)
    except ValueError:
        return None
    plain = not parts.scheme and not parts.netloc and "\\" not in address and address.isprintable()
    return address if plain and address.startswith("/") and not address.startswith("//") else None
