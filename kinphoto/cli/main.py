"""`kinphoto`: puts the groups of commands together."""

from __future__ import annotations

import typer

from kinphoto.cli import (
    asking,
    containers,
    demo,
    findings,
    framing,
    kin,
    objects,
    people,
    pictures,
    record,
    scans,
    serve,
    start,
    tree,
)
from kinphoto.cli.output import errors_in_one_line

app = typer.Typer(
    name="kinphoto",
    help="Who is in each family photograph, and about when it was taken.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
for group in (start, demo, record, framing, objects, findings, asking, pictures, kin, serve):
    group.register(app)
app.add_typer(tree.app, name="tree")
app.add_typer(people.app, name="people")
app.add_typer(scans.app, name="scans")
app.add_typer(containers.app, name="container")


def run() -> None:
    """The console script."""
    with errors_in_one_line():
        app()
