"""`kinphoto progress`: how far the scanning has come, and the list to hand over; `container lent` and `expect`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive
from kinphoto.gedcom.wording import month_words
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.collection.progress import BoxProgress, LentContainer, MonthScanned, Progress

_BAR = 30
"""Letters of the longest bar of a month."""


def progress(
    quota: Annotated[
        int | None,
        typer.Option(metavar="N", help="How many prints you mean to scan in an evening; 0 for none.", min=0),
    ] = None,
    hand_over: Annotated[
        bool, typer.Option("--hand-over", help="The list for whoever owns the box: counts, gaps, what needs care.")
    ] = False,
    box: Annotated[str | None, typer.Option(metavar="NAME", help="With --hand-over: only this box.")] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show how far the scanning has come: tonight, each box, the pace, and about when it ends.

    What is left is known for boxes where you said how many prints are in them: kinphoto container expect NAME 400.
    """
    photographs = open_archive(archive).photographs
    if quota is not None:
        photographs.set_quota(quota)
    if hand_over:
        listed = photographs.hand_over(box)
        answer(as_json, listed, listed.lines)
    else:
        found = photographs.scanning_progress()
        answer(as_json, found, _lines(found))


def expect(
    container: Annotated[str, typer.Argument(metavar="CONTAINER", help="Its name.")],
    prints: Annotated[int, typer.Argument(metavar="N", help="About how many prints are in it.", min=0)],
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say about how many prints are in a box, so that `kinphoto progress` knows what is left."""
    done = open_archive(archive).photographs.expect(container, prints)
    new = ", a new box," if done.made else ""
    answer(as_json, done, f"{done.name}{new} holds about {counted(prints, 'print')}.")


def lent(
    container: Annotated[
        str, typer.Argument(metavar="CONTAINER", help="The box or envelope; made if it does not exist.")
    ],
    by: Annotated[str, typer.Option(metavar="NAME", help="Who lent it.", show_default=False)] = "",
    came: Annotated[
        datetime | None, typer.Option(formats=["%Y-%m-%d"], metavar="DAY", help="The day it came; otherwise today.")
    ] = None,
    condition: Annotated[str, typer.Option(metavar="TEXT", help="In what condition.", show_default=False)] = "",
    holds: Annotated[str, typer.Option(metavar="TEXT", help="What came in it.", show_default=False)] = "",
    back: Annotated[bool, typer.Option("--back", help="It went back to its lender, on --on or today.")] = False,
    on: Annotated[
        datetime | None, typer.Option(formats=["%Y-%m-%d"], metavar="DAY", help="With --back: the day.")
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Keep the register of what was lent: an envelope came in from somebody, or went back."""
    photographs = open_archive(archive).photographs
    if back:
        found = photographs.give_back(container, _day(on))
    else:
        found = photographs.lend(container, by, _day(came), condition, holds)
    answer(as_json, {"lent": found}, (line for each in found for line in _lent_lines(each)))


def _day(given: datetime | None) -> date | None:
    return None if given is None else given.date()


def _lines(found: Progress) -> Iterator[str]:
    yield found.encouragement
    yield f"Tonight: {found.tonight.photographs}{f' of {found.tonight.quota}' if found.tonight.quota else ''}."
    left = "" if found.left is None else f", about {found.left:,} left"
    yield f"Scanned: {counted(found.photographs, 'photograph')}{left}."
    if found.pace is not None:
        evenings = counted(found.evenings, "evening")
        yield f"Pace: {found.pace:g} an evening, over {evenings} in the last four weeks."
    if found.evenings_left:
        when = f", about {month_words(found.ends)}" if found.ends else ""
        yield f"At that pace the rest takes {counted(found.evenings_left, 'more evening', 'more evenings')}{when}."
    yield from _month_lines(found.months)
    for box in found.boxes:
        yield _box_line(box)
    for each in found.lent:
        if each.returned is None:
            yield from _lent_lines(each)


def _box_line(box: BoxProgress) -> str:
    within = f" ({box.inside:,} more in the boxes inside it)" if box.inside and box.expected is not None else ""
    of = f"{within} of about {box.expected:,}" if box.expected is not None else ""
    wanting = [
        *([f"{box.undated} without a date"] if box.undated else []),
        *([f"{box.unnamed} without a name"] if box.unnamed else []),
    ]
    return f"  {box.container or '(not in any box yet)'}: {'; '.join([f'{box.photographs:,}{of}', *wanting])}"


def _month_lines(months: Sequence[MonthScanned]) -> Iterator[str]:
    """A bar a month: what was done, and what is likely still to come."""
    most = max((each.done + each.ahead for each in months), default=0)
    for each in months if len(months) > 1 else ():
        done, both = (round(count * _BAR / most) if most else 0 for count in (each.done, each.done + each.ahead))
        counts = [f"{each.done:,}"] * bool(each.done) + [f"about {each.ahead:,} to come"] * bool(each.ahead)
        bar = f"{'#' * done}{'.' * (both - done)}"
        yield f"  {month_words(each.month):>14}  {bar:{_BAR}}  {', '.join(counts) or '0'}"


def _lent_lines(each: LentContainer) -> Iterator[str]:
    more = "; ".join(filter(None, (each.holds, each.condition)))
    yield f"{each.container}: {each.words}{f' ({more})' if more else ''}"
    if each.returned is None:
        yield from (f"  {advice}" for advice in each.care)
