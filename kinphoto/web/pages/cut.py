"""Cut apart: where several prints are on one scan, corrected by mouse, touch or numbers, then one file each."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive.collection.bed_outlines import PrintOutline
from kinphoto.archive.statements.claims import Tie
from kinphoto.errors import InvalidValueError
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, back_to_scan, post_route
from kinphoto.web.render import get_route, page

HERE = "/cut"
SIDES = ("left", "top", "width", "height", "turn")


@keepers_only
def cut(request: Request) -> Response:
    """The outlines on one `scan` (a code or the end of a path), or the scans that have some."""
    archive, scan = archive_of(request), request.query_params.get("scan", "").strip()
    bed = archive.scans.outlines(scan) if scan else None
    return page(request, "cut.html", bed=bed, beds=() if bed else archive.scans.beds(), scan=scan)


def save(request: Request, form: Form) -> Response:
    """Keep the outlines as they were drawn."""
    archive_of(request).scans.set_outlines(form.text("scan") or "", _given(form))
    return back_to_scan(form, HERE)


def anew(request: Request, form: Form) -> Response:
    """Drop them, so that they are found again."""
    archive_of(request).scans.set_outlines(form.text("scan") or "", ())
    return back_to_scan(form, HERE)


def cut_apart(request: Request, form: Form) -> Response:
    """Cut along the outlines as they were drawn."""
    archive, scan, given = archive_of(request), form.text("scan") or "", _given(form)
    if not given:
        raise InvalidValueError("there is no outline to cut along", remedy="Draw one for each print first.")
    done = archive.scans.cut([scan], form.text("theme"), drawn=given)
    if done.not_cut:
        raise InvalidValueError(f"it was left alone: {done.not_cut[0].why}", remedy="Nothing was changed.")
    return back_to_scan(form, HERE)


def one_strip(request: Request, form: Form) -> Response:
    """Record that what was cut out are frames of one strip of film, each with the first."""
    archive = archive_of(request)
    first, *others = archive.scans.outlines(form.text("scan") or "").strip or [""]
    if not others:
        raise InvalidValueError(
            "these are not offered as frames of one strip any more",
            remedy="It was recorded already, or the scan is not known to be film. Nothing was changed.",
        )
    archive.statements.relate_all([Tie(photograph=first, relation="same-strip", other=other) for other in others])
    archive.dates.refresh_photographs([first, *others])
    return back_to_scan(form, HERE)


def _given(form: Form) -> list[PrintOutline]:
    """The outlines of the form; a row that is empty or left out is none."""
    lists = {side: form.all(side) for side in SIDES}
    out, captions = set(form.all("out")), form.all("caption")
    found = []
    for number in range(max(map(len, lists.values()))):
        texts = {side: (each[number] if number < len(each) else "").strip() for side, each in lists.items()}
        if str(number + 1) in out or not any(texts[side] for side in SIDES[:4]):
            continue
        left, top, width, height, turn = (_number(text, number + 1, side) for side, text in texts.items())
        caption = captions[number] if number < len(captions) else ""
        found.append(PrintOutline(left, top, width, height, turn, caption=caption))
    return found


def _number(text: str, row: int, side: str) -> float:
    try:
        return float(text.replace(",", ".") or (0 if side == "turn" else "none"))
    except ValueError as problem:
        raise InvalidValueError(
            f"print {row}: '{text[:20]}' is not a number for {side}", remedy="Use millimetres, such as 62.5."
        ) from problem


routes = [
    get_route(HERE, cut),
    post_route(f"{HERE}/save", save),
    post_route(f"{HERE}/anew", anew),
    post_route(f"{HERE}/apart", cut_apart),
    post_route(f"{HERE}/strip", one_strip),
]
