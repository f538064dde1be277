"""What people read of a Python file."""

from __future__ import annotations

import pytest

from kinphoto.translation.python import python_messages


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ('"""What a module is for."""\nx = "Who told us"', ["Who told us"]),
        ('f"{card.title or card.code} was removed"', ["{title} was removed"]),
        ('f"{len(names):,} of {len(boxes):,} are new"', ["{names} of {boxes} are new"]),
        ("f\"It {'was' if old else 'is'} new\"", ["It {was | is} new", "was", "is"]),
        ('f"{a.name} and {b.name}, {a.name}"', ["{name} and {name 2}, {name}"]),
        ('x = "one " "line of words"', ["one line of words"]),
        ('d = {"a key": "a value of it"}; d["another key"] == "what is compared"', ["a value of it"]),
        ('re.compile("a b c [d]"); path.open("some file"); text("SELECT a FROM b")', []),
        ('execute("DELETE FROM scan WHERE id = 1"); address = f"/photograph/{code}?naming={way}"', []),
        ('x: Annotated[int, "image files found"]', ["image files found"]),
        ('@app.command("x")\ndef x(y: Annotated[str, typer.Option("--y", help="Whom?")]):\n  "Show\\n  it."', None),
    ],
)
def test_strings_that_are_read(source: str, expected: list[str] | None) -> None:
    """By where they stand: keys, patterns, statements of SQL and docstrings are for the program and its readers."""
    wanted = expected if expected is not None else ["Show it.", "Whom?"]
    assert sorted(said.text for said in python_messages(source)) == sorted(wanted)


def test_errors_and_help_are_known_by_where_they_stand() -> None:
    """And what is counted has two forms."""
    source = """raise NotFoundError("no such box", remedy="Look again.")\nx = f"{counted(n, 'box', 'boxes')} there\""""
    assert [(said.kind, said.text, said.plural) for said in python_messages(source)] == [
        ("error", "no such box", None),
        ("error", "Look again.", None),
        ("", "{boxes} there", None),
        ("", "box", "boxes"),
    ]
