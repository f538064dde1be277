"""`kinphoto faces`: faces found by this computer, off until somebody turns it on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from kinphoto.cli.commands import Commands
from kinphoto.cli.output import ArchiveOption, JsonOption, answer, open_archive, progress_bar, shortened, warn
from kinphoto.phrases import counted

if TYPE_CHECKING:
    from kinphoto.archive.faces.alike import FaceAlike, LooksAlike, PersonBeside
    from kinphoto.archive.faces.deciding import FacesLaidApart
    from kinphoto.archive.faces.offers import FramesDecided, PhotographOffers
    from kinphoto.archive.faces.searching import FacesSearched
    from kinphoto.archive.faces.switch import FacesErased, FacesState, PersonLeftOut

app = typer.Typer(
    cls=Commands, no_args_is_help=True, help="Find faces on the scans, on this computer alone; off until turned on."
)

_SHOWN = 40  # photographs before the rest is only counted

CAUTION = (
    "Faces are biometric data: many countries have their own rules for them, some even within a family. Everything "
    "stays in this archive's folder (faces.db) and goes into no backup, package, copy or page for others.",
    "Nothing is decided for you: frames are offered, and you name people. Brothers and sisters look alike, and a child "
    "does not look like the grown-up. No ages are guessed.",
    "To erase all of it again: kinphoto faces off.",
)
"""What somebody should know before and after they turn it on."""


@app.command("on")
def on(
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who decides this; needed the first time.")] = "",
    living: Annotated[
        bool | None,
        typer.Option("--living/--no-living", help="Also compare faces of people who may be living. Ask them first."),
    ] = None,
    compare: Annotated[
        bool | None, typer.Option("--compare/--no-compare", help="Compare faces, or only find them.")
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Turn the search for faces on, or change what it may do. Read `kinphoto help faces on` first.

    The fronts of your photographs are searched on this computer; nothing is sent anywhere. What is found is offered as
    frames, which you accept, name or refuse. Faces are also described by numbers and compared, but not those of people
    who may be living, unless you say --living. Faces are biometric data, and many countries have their own rules for
    them: ask the living, and do not use this on people who would mind.

    It cannot reliably tell brothers and sisters apart, nor see the child in the grown-up. A likeness is a hint, never a
    name.
    """
    now = open_archive(archive).faces.turn_on(by, living=living, compare=compare)
    answer(as_json, now, (*_state_lines(now), "", *CAUTION))


@app.command("off")
def off(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Erase every frame that is offered and every description of a face, and search no more.

    What you said stays: names, frames you accepted, and refusals. The file is overwritten before it is removed; copies
    that you made of the whole folder by other means are yours to erase.
    """
    done = open_archive(archive).faces.turn_off()
    answer(as_json, done, _erased_line(done))


@app.command("state")
def state(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Say whether faces are searched for, since when, who decided it, and how far the search has got."""
    now = open_archive(archive).faces.state()
    answer(as_json, now, _state_lines(now))


@app.command("find")
def find(
    what: Annotated[
        list[str] | None,
        typer.Argument(metavar="[WHAT]…", help="Codes, scans or boxes; every photograph if you name none."),
    ] = None,
    again: Annotated[bool, typer.Option("--again", help="Search again what was searched before.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Search the fronts of photographs for faces. Each is searched once; Ctrl-C stops it, and it carries on next time.

    What is found is offered (kinphoto faces offers, or the pages). Frames you refused are not offered again.
    """
    store = open_archive(archive)
    try:
        with progress_bar("Looking for faces") as progress:
            found = store.faces.find(what or [], progress, again=again)
    except KeyboardInterrupt:
        warn("kinphoto: stopped. What was found so far is kept; run the same command again to go on.")
        raise typer.Exit(130) from None
    answer(as_json, found, _found_lines(found))


@app.command("offers")
def offers(
    photographs: Annotated[
        list[str] | None,
        typer.Argument(metavar="[PHOTO]…", help="Codes or scans; every photograph if you name none."),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show the frames that are offered, and which photographs seem to need turning."""
    store = open_archive(archive)
    found = store.faces.offers(photographs or [])
    if not found and not store.faces.state().on:
        warn("kinphoto: faces are not searched for here. Turn it on: kinphoto faces on.")
    answer(as_json, {"photographs": found}, _offer_lines(found))


@app.command("accept")
def accept(
    photograph: Annotated[str, typer.Argument(metavar="PHOTO", help="Its code or scan.")],
    frames: Annotated[
        list[str] | None, typer.Argument(metavar="[FRAME]…", help="Such as F12; all if you name none.")
    ] = None,
    region: Annotated[
        str | None,
        typer.Option("--region", metavar="L,T,W,H", help="Where it belongs, if the one frame is a little off."),
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Accept frames that are offered: each becomes somebody not identified yet. To undo it: kinphoto undo."""
    done = open_archive(archive).faces.accept(photograph, frames or [], region)
    answer(as_json, done, _decided_line(done))


@app.command("refuse")
def refuse(
    photograph: Annotated[str, typer.Argument(metavar="PHOTO", help="Its code or scan.")],
    frames: Annotated[
        list[str] | None, typer.Argument(metavar="[FRAME]…", help="Such as F12; all if you name none.")
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Refuse frames for good: not a face, a picture in the picture, a poster, nobody you care to name.

    To undo it: kinphoto undo.
    """
    done = open_archive(archive).faces.refuse(photograph, frames or [])
    answer(as_json, done, _decided_line(done))


@app.command("alike")
def alike(archive: ArchiveOption = None, as_json: JsonOption = False) -> None:
    """Show faces without a name that look alike, and names that look doubtful.

    Look at them side by side on the page Finding faces. Brothers and sisters look alike, and a child does not look like
    the grown-up: a likeness is only a hint, and a doubt is not a conflict.
    """
    found = open_archive(archive).faces.alike()
    answer(as_json, found, _alike_lines(found))


@app.command("name")
def name(
    person: Annotated[str, typer.Argument(metavar="PERSON", help="Their id or name.")],
    faces: Annotated[
        list[str], typer.Argument(metavar="FACE…", help="Such as F12 or R3, as `faces alike` shows them.")
    ],
    by: Annotated[str | None, typer.Option("--by", metavar="NAME", help="Who told you.")] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Name faces of several photographs as one person, all in one change."""
    done = open_archive(archive).faces.name_together(person, faces, by=by)
    answer(as_json, {"named": done}, [f"{one.photograph}: {one.words} ({one.appearance})" for one in done])


@app.command("apart")
def apart(
    faces: Annotated[
        list[str], typer.Argument(metavar="FACE…", help="Such as F12 or R3, as `faces alike` shows them.")
    ],
    not_with: Annotated[
        list[str] | None, typer.Option("--from", metavar="FACE", help="A face of the other person; can be repeated.")
    ] = None,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say that faces are not the same person, so that they are not shown side by side again; or that a name is right.

    kinphoto faces apart F12 --from F3 --from R4: F12 is not the person in F3 and R4. Without --from: the name that the
    face has is right, however unlike it looks. To undo it: kinphoto undo.
    """
    done = open_archive(archive).faces.lay_apart(faces, not_with or [])
    answer(as_json, done, _apart_line(done))


@app.command("forget")
def forget(
    person: Annotated[str, typer.Argument(metavar="PERSON", help="Their id or name.")],
    take_back: Annotated[bool, typer.Option("--take-back", help="Let their faces be compared again.")] = False,
    archive: ArchiveOption = None,
    as_json: JsonOption = False,
) -> None:
    """Erase the descriptions of somebody's faces, and make none again. Their names and frames stay."""
    done = open_archive(archive).faces.leave_out(person, take_back=take_back)
    answer(as_json, done, _left_out_line(done))


def _state_lines(now: FacesState) -> Iterator[str]:
    if not now.on:
        ready = "" if now.installed else " What it needs is not installed: pip install 'kinphoto[faces]'."
        yield f"Faces are not searched for in this archive.{ready}"
    else:
        yield f"Faces have been searched for since {now.since}. {now.who} turned it on."
        compared = (
            "those of people who may be living too" if now.living else "but not those of people who may be living"
        )
        yield f"Faces are compared, {compared}." if now.compare else "Faces are found but not compared."
        waiting = f", {now.waiting} to go (kinphoto faces find)" if now.waiting else ""
        faces = f"{counted(now.faces, 'face')}, {now.compared} compared"
        yield f"{counted(now.searched, 'photograph')} searched{waiting}: {faces}."
    if now.left_out:
        yield f"Never compared: {', '.join(now.left_out)}."


def _erased_line(done: FacesErased) -> str:
    if not done.erased:
        return "There was nothing to erase: faces are not searched for in this archive."
    kept = f" {counted(done.refused_frames, 'refusal')} of yours kept." if done.refused_frames else ""
    return f"Erased: every frame on offer and every description of a face. Faces are not searched for any more.{kept}"


def _found_lines(found: FacesSearched) -> Iterator[str]:
    if not found.photographs:
        yield "There are no photographs with a front yet. Add scans: kinphoto scans add FOLDER."
        return
    yield f"{counted(found.photographs, 'photograph')}, {found.searched} searched now: {counted(found.faces, 'face')}."
    if found.compared:
        yield f"{counted(found.compared, 'face')} described, to be compared."
    if found.turned:
        yield f"{counted(found.turned, 'photograph')} may have to be turned: kinphoto faces offers."
    for problem in found.unreadable:
        yield f"{problem.path}: cannot be read. {problem.why[:1].upper()}{problem.why[1:]}."


def _offer_lines(found: tuple[PhotographOffers, ...]) -> Iterator[str]:
    if not found:
        yield "No frames are offered."
        return
    frames = sum(len(one.frames) for one in found)
    yield f"{counted(frames, 'frame is', 'frames are')} offered in {counted(len(found), 'photograph')}:"
    lines = []
    for one in found:
        places = ", ".join(f"{frame.id} at {' '.join(f'{side:.2f}' for side in frame.box)}" for frame in one.frames)
        way = "over" if one.turn == "over" else f"to the {one.turn}"
        turn = f"its faces are upright when it is turned {way}: kinphoto scans turn {one.photograph} {one.turn}"
        lines.append(f"{one.photograph}  {'; '.join(filter(None, (places, turn if one.turn else '')))}")
    yield from shortened(lines, _SHOWN)
    yield "Accept: kinphoto faces accept PHOTO [FRAME]. Refuse for good: kinphoto faces refuse PHOTO [FRAME]."


def _alike_lines(found: LooksAlike) -> Iterator[str]:
    if not found.groups and not found.doubtful:
        yield "Among the faces that are compared, none without a name look alike, and no name looks doubtful."
    for group in found.groups:
        yield f"These {len(group.faces)} may be one person: {', '.join(map(_face_words, group.faces))}"
        if group.like is not None:
            yield f"  They look most like {_person_words(group.like)}."
            yield from _sibling_lines(group.siblings)
        yield f"  Name those that are: kinphoto faces name PERSON {' '.join(face.face for face in group.faces)}"
    for one in found.doubtful:
        others = ", ".join(map(_face_words, one.others))
        yield f"{one.photograph} {one.face}: hardly looks like {one.person} in {others}. Have another look."
        yield from _sibling_lines(one.siblings)


def _sibling_lines(siblings: tuple[PersonBeside, ...]) -> Iterator[str]:
    if siblings:
        found = "; ".join(f"{_person_words(one)}, {one.words}" for one in siblings)
        yield f"  Compare with their brothers and sisters, who may look as alike: {found}."


def _person_words(one: PersonBeside) -> str:
    return f"{one.name} ({one.person}){f', {_face_words(one.face)}' if one.face else ''}"


def _apart_line(done: FacesLaidApart) -> str:
    if not done.others:
        return f"{', '.join(done.faces)}: the name is right. It is not asked about again."
    return f"{', '.join(done.faces)}: not the person in {', '.join(done.others)}. Not shown side by side again."


def _face_words(face: FaceAlike) -> str:
    return f"{face.face} in {face.photograph}{f' (about {face.year})' if face.year else ''}"


def _decided_line(done: FramesDecided) -> str:
    if done.accepted:
        framed = f"{counted(len(done.frames), 'face')} framed ({', '.join(done.appearances)})"
        return f"{done.photograph}: {framed}. Name them: kinphoto link."
    return f"{done.photograph}: {counted(len(done.frames), 'frame')} refused; not offered again."


def _left_out_line(done: PersonLeftOut) -> str:
    if not done.left_out:
        return f"{done.name} ({done.person}): faces may be compared again, from the next search on."
    gone = f" {counted(done.erased, 'description')} erased." if done.erased else ""
    return f"{done.name} ({done.person}): their faces are no longer compared with any others.{gone}"
