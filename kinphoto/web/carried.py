"""What somebody typed who is no longer signed in: carried along while they sign in, and then shown to be sent again.

Nothing of it is kept on the server. The page where one signs in has the fields among its own, hidden, and the page that
comes after the password is that of a form which was refused: signing in never saves anything by itself. Only what was
typed into a page of somebody signed in is carried (`Access.from_a_keeper`), and it is shown again only to whoever knows
the password; passwords and files never are, nor more than `MOST_CARRIED`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.errors import InvalidValueError
from kinphoto.web.access import access_of, came_from, own_path, to_sign_in
from kinphoto.web.guard import CLOSE
from kinphoto.web.refusal import TOKEN
from kinphoto.web.render import page, refused

MOST_CARRIED = 64 * 1024
"""Bytes of a form that is carried: more than a long story."""
_PART = "X-Part"
"""The header of what a script sends."""
_FIELD, _TO, _FILE = "typed/", "typed_to", "typed_file"
_NEVER = frozenset((TOKEN, "password"))


@dataclass(frozen=True, slots=True)
class Carried:
    """A form that waits for the password: where it goes, its fields, and the names of those that are files."""

    action: str
    lists: Mapping[str, Sequence[str]]
    files: tuple[str, ...] = ()

    @property
    def hidden(self) -> Iterator[tuple[str, str]]:
        """The fields by which the form that asks for the password carries it."""
        yield _TO, self.action
        yield from ((_FIELD + name, value) for name, values in self.lists.items() for value in values)
        yield from ((_FILE, name) for name in self.files)


def carried_in(lists: Mapping[str, list[str]]) -> Carried | None:
    """What came with the password; None for nothing, or for what would not go to a page of ours."""
    action = own_path(lists.get(_TO, [""])[-1])
    typed = {name.removeprefix(_FIELD): values for name, values in lists.items() if name.startswith(_FIELD)}
    return Carried(action, _without(typed), tuple(lists.get(_FILE, ()))) if action and typed else None


def from_a_keeper(request: Request, lists: Mapping[str, list[str]]) -> bool:
    """Whether a form comes from a page that was shown to somebody signed in."""
    return access_of(request).from_a_keeper(lists.get(TOKEN, [""])[-1])


def sent_by_script(request: Request) -> bool:
    """Whether a script sent this: its page is still open, with everything that was typed, and is where the answer is
    shown."""
    return _PART in request.headers


def wait_for_password(request: Request, lists: Mapping[str, list[str]], files: Collection[str] = ()) -> Response:
    """The answer to a form of somebody who is not signed in: on to where one signs in, with what was typed."""
    typed = _without(lists)
    if not from_a_keeper(request, lists) or not typed.keys() - {"next"}:
        return to_sign_in(request)
    if len(urlencode(typed, doseq=True)) > MOST_CARRIED:
        return too_long_to_wait(request)
    return _asking(request, "", Carried(request.url.path, typed, tuple(dict.fromkeys(files))))


def too_long_to_wait(request: Request) -> Response:
    """The same where more was typed than can be carried: it says how not to lose it. The rest need not be sent."""
    problem = "You are signed out, and what you typed is too long to be kept on this page. Go back to it, sign in in " \
        "another tab, and send it again."  # fmt: skip
    answer = _asking(request, problem, None)
    answer.headers.update(CLOSE)
    return answer


def sent_once_more(request: Request, carried: Carried, back: str) -> Response:
    """The page after the password: the form as it was typed, to be looked at and sent."""
    problem = InvalidValueError(
        "you were signed out before this was saved", remedy="Look at it, and send it once more."
    )
    lists = {name: list(values) for name, values in carried.lists.items()}
    return refused(request, problem, lists, carried.files, 200, action=carried.action, back=back)


def _asking(request: Request, problem: str, carried: Carried | None) -> Response:
    return page(request, "sign_in.html", 403, problem=problem, next=came_from(request) or "/", carried=carried)


def _without(lists: Mapping[str, list[str]]) -> dict[str, list[str]]:
    return {name: values for name, values in lists.items() if name not in _NEVER}
