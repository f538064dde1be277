"""Pictures for the pages: scans small, whole and in tiles, and faces.

Only numbers come from outside; which file is behind them the archive says. With the version of the picture in the
address (`?v=`) a browser keeps it for good, since what is shown under it never changes. Without it, or with an older
one, the browser asks each time and learns when it has the newest already.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from functools import partial, wraps
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from kinphoto.errors import ArchiveError, KinphotoError, NotFoundError, UnreadableFileError
from kinphoto.scans import tiles
from kinphoto.web.access import archive_of, stranger

if TYPE_CHECKING:
    from kinphoto.archive.collection.images import ScanPicture

Endpoint = Callable[[Request], Response]

FOR_GOOD = "private, max-age=31536000, immutable"
ASK_AGAIN = "private, no-cache"


def errors_as_text(endpoint: Endpoint) -> Endpoint:
    """Answer with one line of plain text when a picture cannot be shown, and never say where its file is."""

    @wraps(endpoint)
    def answered(request: Request) -> Response:
        try:
            return endpoint(request)
        except ArchiveError as problem:
            return _refusal(problem.what, 503)
        except KinphotoError as problem:
            return _refusal(problem.what, 404)
        except FileNotFoundError:
            return _refusal("it has just been removed; reload the page", 404)

    return answered


@errors_as_text
def small(request: Request) -> Response:
    """The thumbnail."""
    scan = _scan(request)
    return _picture(request, scan.source.version, partial(tiles.small_path, _folder(request), scan.source))


@errors_as_text
def tiny(request: Request) -> Response:
    """The thumbnail once more, for where there are very many."""
    scan = _scan(request)
    return _picture(request, scan.source.version, partial(tiles.tiny_path, _folder(request), scan.source))


EDGES = {"middle": tiles.MIDDLE_EDGE, "view": tiles.VIEW_EDGE, "large": tiles.LARGE_EDGE}
"""The long edge of the whole picture by what it is called in addresses."""


@errors_as_text
def whole(request: Request) -> Response:
    """The whole picture in one of three sizes; the thumbnail while the scan's file is not there."""
    edge = EDGES.get(request.path_params["size"])
    if edge is None:
        raise NotFoundError("there is no picture of that size")
    scan, folder = _scan(request), _folder(request)
    return _picture(
        request,
        scan.source.version,
        partial(tiles.view_path, folder, scan.source, edge),
        partial(tiles.small_path, folder, scan.source),
    )


@errors_as_text
def as_taken(request: Request) -> Response:
    """The picture as its file has it, without what a person turned or straightened: for keepers, as it shows what is
    around a print."""
    scan = _scan(request)
    if stranger(request):
        raise NotFoundError(f"there is no scan {scan.id}")
    source = scan.source.as_filed
    return _picture(request, source.version, partial(tiles.view_path, _folder(request), source, tiles.LARGE_EDGE))


@errors_as_text
def face(request: Request) -> Response:
    """A face with its surroundings; out of the thumbnail while the scan's file is not there."""
    archive = archive_of(request)
    found = archive.scans.face_picture(request.path_params["region"])
    if not _may_see(request, found.scan):
        raise NotFoundError(f"there is no face R{found.id}")
    source = found.scan.source
    return _picture(
        request,
        found.version,
        partial(tiles.face_path, archive.folder, source, found.region),
        partial(tiles.face_in_small_path, archive.folder, source, found.region),
    )


@errors_as_text
def face_on_offer(request: Request) -> Response:
    """The same of a face that was found and is only offered: for keepers."""
    archive = archive_of(request)
    number = request.path_params["face"]
    if stranger(request):
        raise NotFoundError(f"there is no face F{number}")
    found = archive.faces.picture(number)
    return _picture(
        request,
        found.version,
        partial(tiles.face_path, archive.folder, found.scan.source, found.region),
        partial(tiles.face_in_small_path, archive.folder, found.scan.source, found.region),
    )


@errors_as_text
def pyramid(request: Request) -> Response:
    """What a script has to know of a scan's tiles: size of the picture, width and height of a tile, how many levels."""
    scan = _scan(request)
    if _has_it(request, scan.source.version):
        return _unchanged(request, scan.source.version)
    found = tiles.pyramid(_folder(request), scan.source)
    facts = {**asdict(found), "tile": tiles.TILE, "levels": found.levels}
    return JSONResponse(facts, headers=_headers(request, scan.source.version))


@errors_as_text
def tile(request: Request) -> Response:
    """One tile."""
    scan = _scan(request)
    place = (request.path_params[name] for name in ("level", "column", "row"))
    return _picture(request, scan.source.version, partial(tiles.tile_path, _folder(request), scan.source, *place))


def _scan(request: Request) -> ScanPicture:
    """The scan, unless who asks may not see it: then there is none for them."""
    scan = archive_of(request).scans.picture(request.path_params["scan"])
    if not _may_see(request, scan):
        raise NotFoundError(f"there is no scan {scan.id}")
    return scan


def _may_see(request: Request, scan: ScanPicture) -> bool:
    """Whether who asks may see a scan. What is written on a back can name anybody, so backs are for those who have
    signed in."""
    return not stranger(request) or (
        scan.side != "verso" and archive_of(request).photographs.is_shown_to_anybody(scan.photograph_id)
    )


def _folder(request: Request) -> Path:
    return archive_of(request).folder


def _picture(
    request: Request, version: str, path: Callable[[], Path], instead: Callable[[], Path] | None = None
) -> Response:
    """The file that `path` makes; that of `instead`, which no browser should keep, when the scan cannot be read."""
    if _has_it(request, version):
        return _unchanged(request, version)
    try:
        return Response(path().read_bytes(), media_type="image/jpeg", headers=_headers(request, version))
    except UnreadableFileError:
        if instead is None:
            raise
        return Response(instead().read_bytes(), media_type="image/jpeg", headers={"Cache-Control": "no-store"})


def _has_it(request: Request, version: str) -> bool:
    tags = request.headers.get("if-none-match", "").split(",")
    return f'"{version}"' in (tag.strip().removeprefix("W/") for tag in tags)


def _unchanged(request: Request, version: str) -> Response:
    return Response(status_code=304, headers=_headers(request, version))


def _headers(request: Request, version: str) -> dict[str, str]:
    named = request.query_params.get("v") == version
    return {"ETag": f'"{version}"', "Cache-Control": FOR_GOOD if named else ASK_AGAIN}


def _refusal(why: str, status: int) -> Response:
    return PlainTextResponse(f"{why}\n", status, headers={"Cache-Control": "no-store"})


routes = [
    Route("/scan/{scan:int}/small.jpg", small),
    Route("/scan/{scan:int}/tiny.jpg", tiny),
    Route("/scan/{scan:int}/as-taken.jpg", as_taken),
    Route("/scan/{scan:int}/{size}.jpg", whole),
    Route("/scan/{scan:int}/tiles.json", pyramid),
    Route("/scan/{scan:int}/tiles/{level:int}/{column:int}-{row:int}.jpg", tile),
    Route("/face/{region:int}.jpg", face),
    Route("/face-on-offer/{face:int}.jpg", face_on_offer),
]
