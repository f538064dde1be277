"""What the informants tell agrees with the truth in everything but the four planted mistakes."""

from __future__ import annotations

import csv
import math
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from kinphoto.gedcom.dates import parse_date
from kinphoto.reason.model import processes
from sample_tree import sheets
from sample_tree.box import ALBUM_PAGE, BY_FILE, COPIED, COPY, Shot
from sample_tree.draw import files
from sample_tree.family import BY_ID, FAMILIES, HERE, PEOPLE, Person, age_on
from sample_tree.outside import OUTSIDE

SHEETS = ("links", "statements", "relations", "objects", "joins", "informants", "outside")


def _rows(name: str) -> list[dict[str, str]]:
    with (HERE / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _person(text: str) -> Person:
    """The one person a cell names, by id or by full name."""
    everybody = {p.id: p for p in (*PEOPLE, *OUTSIDE.values())}
    if text in everybody:
        return everybody[text]
    (only,) = [p for p in everybody.values() if p.name == text]
    return only


def _day(photo: str) -> date:
    return date.fromisoformat((BY_FILE.get(photo) or BY_FILE[COPIED]).date)


def _mistaken(file: str) -> set[str]:
    return {row["what"] for row in _rows("truth/mistakes") if row["file"] == file}


def test_the_sheets_on_disk_are_the_ones_the_program_writes(tmp_path: Path) -> None:
    """Drawn once with a fixed seed, and written the same every time."""
    (tmp_path / "truth").mkdir()
    sheets.write_all(tmp_path)
    for name in (*SHEETS, "truth/mistakes", "truth/dates", "truth/births"):
        assert (tmp_path / f"{name}.csv").read_bytes() == (HERE / f"{name}.csv").read_bytes(), name


def test_every_row_names_a_scan_that_is_there() -> None:
    """No row points to a file that was not drawn."""
    there = set(files())
    for name, columns in (
        ("links", ["photo"]),
        ("statements", ["photo"]),
        ("relations", ["photo", "other"]),
        ("objects", ["photo"]),
        ("joins", ["first", "other"]),
    ):
        for row in _rows(name):
            assert {row[column] for column in columns} <= there, row


def test_names_on_faces_are_the_right_ones_but_one() -> None:
    """The region of each link is the drawn face of the person it names."""
    with (HERE / "truth" / "faces.csv").open(encoding="utf-8", newline="") as lines:
        faces = {(r["photo"], r["left"], r["top"]): r["who"] for r in csv.DictReader(lines)}
    wrong = {
        f"{row['photo']} {row['person']}"
        for row in _rows("links")
        if row["person"] != "-" and _person(row["person"]).id != faces[row["photo"], row["left"], row["top"]]
    }
    assert wrong == _mistaken("links.csv")


def test_stated_ages_are_true() -> None:
    """An age that somebody knows is the true one in completed years."""
    stated = [row for row in _rows("links") if row["age_basis"] == "stated"]
    assert len(stated) >= 3
    for row in stated:
        born, day = date.fromisoformat(_person(row["person"]).birth), _day(row["photo"])
        age = day.year - born.year - ((day.month, day.day) < (born.month, born.day))
        assert int(row["age_from"]) <= age <= int(row["age_to"]), row


def test_apparent_ages_err_as_people_do() -> None:
    """About the true age, on the scale ln(age + 2), judged ages scatter with a standard deviation near 0.17.

    With some 250 judgements the standard error of the deviation is 0.17 / sqrt(500), below 0.008; the bounds are three
    and more of those, and allow for the rounding to whole and five years.
    """
    errors = []
    for row in _rows("links"):
        if row["age_basis"] != "apparent":
            continue
        age = age_on(_person(row["person"]), _day(row["photo"]))
        middle = (int(row["age_from"]) + int(row["age_to"]) + 1) / 2
        errors.append(sheets.wide(middle) - sheets.wide(age))
    assert len(errors) > 200
    assert abs(float(np.mean(errors))) < 0.05
    assert 0.14 < float(np.std(errors)) < 0.21


def test_the_scale_of_ages_goes_on_straight() -> None:
    """ln(age + 2) up to 51, a straight line of the same slope after it, and back again."""
    assert sheets.wide(51) == pytest.approx(math.log(53))
    assert sheets.wide(51.001) == pytest.approx(sheets.wide(51), abs=1e-4)
    for age in (0.0, 0.4, 7.0, 30.0, 51.0, 68.0, 90.0):
        assert sheets.narrow(sheets.wide(age)) == pytest.approx(age)


def test_dated_statements_are_true_but_one() -> None:
    """Each date allows the true day, read as kinphoto reads it; events are at most a fortnight away."""
    weddings = {f"{family.id}:MARR": family.married for family in FAMILIES}
    wrong = set()
    for row in _rows("statements"):
        day = _day(row["photo"])
        if row["kind"] == "event":
            off = day - date.fromisoformat(weddings[row["date"]])
            assert timedelta(days=-1) <= off <= timedelta(days=14)
        elif row["date"]:
            span = parse_date(row["date"]).span
            late = row["kind"] in ("written", "postmark", "print-stamp")
            fits = (span.last is None or day.toordinal() <= span.last) and (
                late or span.first is None or span.first <= day.toordinal()
            )
            if not fits:
                wrong.add(f"{row['photo']} {row['kind']} {row['date']}")
    assert wrong == _mistaken("statements.csv")


def test_relations_are_true_but_one() -> None:
    """Before is before, after is after, and the same occasion the same day."""
    wrong = set()
    for row in _rows("relations"):
        if row["other"] == ALBUM_PAGE:
            continue
        one, other = _day(row["photo"]), _day(row["other"])
        true = {"before": one <= other, "after": one >= other, "same-occasion": one == other, "copy-of": one == other}
        if not true[row["relation"]]:
            wrong.add(f"{row['photo']} {row['relation']} {row['other']}")
    assert wrong == _mistaken("relations.csv")


def test_dates_of_the_tree_are_true_but_one() -> None:
    """Every vague or exact date of a life in the tree allows the true day; one year is mistyped."""
    wrong = set()
    for person in PEOPLE:
        for tag, told, truth in (("BIRT", person.born, person.birth), ("DEAT", person.died, person.death)):
            if told and truth:
                span = parse_date(told).span
                day = date.fromisoformat(truth).toordinal()
                if not ((span.first is None or span.first <= day) and (span.last is None or day <= span.last)):
                    wrong.add(f"{person.id} {tag} {told}")
    assert wrong == _mistaken("family.ged")


def test_processes_and_formats_are_in_the_table_and_in_their_years() -> None:
    """Each name is one of the table, and the true day is not before its first year."""
    table = processes.load()
    for row in _rows("objects"):
        for name in filter(None, (row["process"], row["format"])):
            assert name in table, name
            if row["photo"] != COPY:
                window = table[name].window
                day = _day(row["photo"]).toordinal()
                assert window.first is None or window.first <= day, row
                assert window.last is None or day <= window.last, row


def test_four_mistakes_of_four_kinds() -> None:
    """One in the names, one in the statements, one in the tree, one in the relations."""
    assert sorted(row["file"] for row in _rows("truth/mistakes")) == [
        "family.ged",
        "links.csv",
        "relations.csv",
        "statements.csv",
    ]


def test_three_informants_of_the_family_tell_it_all() -> None:
    """Everything is said by one of three, and each says something."""
    named = {row["name"] for row in _rows("informants")}
    assert len(named) == 3
    assert {row["person"] for row in _rows("informants")} <= set(BY_ID)
    assert {row["informant"] for name in ("links", "statements", "relations") for row in _rows(name)} == named


def test_most_photographs_carry_no_date() -> None:
    """Fewer than half have any dated statement of their own: ages and lives must do the work."""
    dated = {row["photo"] for row in _rows("statements") if row["date"]}
    shots: list[Shot] = list(BY_FILE.values())
    narrow = {row["photo"] for row in _rows("statements") if row["date"] and row["kind"] != "imprint"}
    assert len(narrow) < len(shots) / 2
    assert len(dated) < len(shots) * 0.6
