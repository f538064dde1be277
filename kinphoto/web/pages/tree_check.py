"""What in the family tree cannot be true and what is unlikely, the births that photographs suggest, and the tree
written to a file of its own with everybody's pictures."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from kinphoto.errors import InvalidValueError
from kinphoto.phrases import counted
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.forms import Form, post_route
from kinphoto.web.jobs import Progress
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive.tree.exporting import TreeWritten

MOST = 100
"""Findings of each kind that are shown."""
ENDINGS = (".ged", ".gdz")


@keepers_only
def tree_check(request: Request) -> Response:
    """The findings, with the births as of the newest estimates."""
    archive = archive_of(request)
    found = archive.tree.kept_check()
    return page(request, "tree_check.html", found=found, most=MOST, job=request.app.state.jobs.last)


def write(request: Request, form: Form) -> Response:
    """Write the tree with its pictures to the file named, in the background; another file there is not overwritten."""
    archive, typed = archive_of(request), form.text("target")
    if typed is None or not typed.lower().endswith(ENDINGS):
        raise InvalidValueError(
            "no file was named" if typed is None else f"'{typed}' does not end in .ged or .gdz",
            remedy="Name a file, such as /home/ada/family-with-pictures.ged; with .gdz the pictures go into it.",
        )
    path, living = os.path.abspath(os.path.expanduser(typed)), form.get("living") == "1"  # noqa: PTH100, PTH111

    def work(_: Progress) -> list[str]:
        return _written(archive.tree.write_file(path, leave_out_living=living))

    request.app.state.jobs.start("writing the tree", work)
    return RedirectResponse("/tree-check", 303)


def _written(done: TreeWritten) -> list[str]:
    lines = [
        f"It is in {done.path}, as GEDCOM {done.version}.",
        f"{counted(done.photographs, 'photograph')} of {counted(done.people, 'person', 'people')} in it.",
    ]
    if done.doubtful:
        lines.append(f"{counted(done.doubtful, 'name')} left out because somebody doubts it.")
    return lines


routes = [get_route("/tree-check", tree_check), post_route("/tree-check/write", write)]
