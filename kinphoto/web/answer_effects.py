"""What a visitor's answers did to the dates, in the words and drawings of a page: the range of the photograph as it was
and as it is now, thanks to whom, and which other photographs moved. No date is shown where a face has no name yet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from starlette.requests import Request

from kinphoto.archive.words.dates import when
from kinphoto.phrases import counted, listed
from kinphoto.reason.model.findings import State
from kinphoto.reason.model.span import DAYS_PER_YEAR
from kinphoto.web.access import archive_of
from kinphoto.web.done import what_answers_did
from kinphoto.web.drawing.ranges import RangesDrawing, ranges
from kinphoto.web.render import when_short

if TYPE_CHECKING:
    from kinphoto.archive.collection.photograph_cards import PhotographCard
    from kinphoto.archive.dates.date_changes import Moved

_SAYING = ("name", "say", "made", "relate")
"""Forms whose answer may change a date: what it did is reported also where nothing changed."""
MOST = 4
"""Other photographs that moved which are shown; the rest are counted."""


@dataclass(frozen=True, slots=True)
class MovedPhotograph:
    """Another photograph whose date moved: what it was and is now in short, "" where its faces come first."""

    card: PhotographCard
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class AnswerEffect:
    """What answers did: `words` in one sentence, `drawn` the two ranges (None where nothing moved), and the others.
    `beside_words` where the answer was given below, among what is known about it: it is said there."""

    words: str
    was: str
    now: str
    drawn: RangesDrawing | None
    others: tuple[MovedPhotograph, ...]
    more: int
    disputed: bool
    beside_words: bool


def answer_effect(request: Request, code: str) -> AnswerEffect | None:
    """What this visitor's last answers about a photograph did; None where there were none, or no date comes of them."""
    found = what_answers_did(request, code)
    if found is None or found[1].photograph is None:
        return None
    (answers, moves), own = found, found[1].photograph
    if not (own.notable or moves.others or answers.form in _SAYING):
        return None
    shown = moves.others[:MOST]
    cards = {one.code: one for one in archive_of(request).photographs.cards([one.code for one in shown])}
    disputed = own.after.state is State.DISPUTED and own.before.state is not State.DISPUTED
    return AnswerEffect(
        _words(own, answers.thanks, len(moves.others)),
        when(own.before),
        when(own.after),
        ranges(own.before.shown_range, own.after.shown_range) if own.notable else None,
        tuple(_other(cards[one.code], one) for one in shown if one.code in cards),
        len(moves.others) - len(shown),
        disputed,
        answers.form in ("say", "made", "relate"),
    )


def _words(own: Moved, thanks: list[str], others: int) -> str:
    """ "Thanks to Judith, the likely range is 8 years shorter, and 3 other photographs moved with it." """
    start = f"Thanks to {listed(thanks)}, the" if thanks else "The"
    also = f"{counted(others, 'other photograph has', 'other photographs have')} moved with it"
    if not own.notable:
        saved = f"Saved, with thanks to {listed(thanks)}. " if thanks else ""
        return f"{saved}The date stays as it was{f', but {also}' if others else ''}."
    years = round(abs(own.narrower) / DAYS_PER_YEAR)
    if not years:
        what = "likely range has moved"
    elif own.narrower > 0:
        what = f"likely range is {counted(years, 'year')} shorter"
    else:
        what = f"likely range is {counted(years, 'year')} longer"
    return f"{start} {what}{f', and {also}' if others else ''}."


def _other(card: PhotographCard, moved: Moved) -> MovedPhotograph:
    if card.nameless or not card.names:
        return MovedPhotograph(card, "", "")
    return MovedPhotograph(card, when_short(moved.before), when_short(moved.after))
