"""Errors say what, where and what next, in one line."""

from __future__ import annotations

from kinphoto.errors import AmbiguousError, KinphotoError, RowsRejectedError


def test_an_error_is_one_line() -> None:
    """Where it happened, what, and the remedy, whatever line breaks came in."""
    problem = KinphotoError("the date\nis odd", where="links.csv, line 3", remedy="Write 1917.")
    assert str(problem) == "links.csv, line 3: the date is odd. Write 1917."


def test_candidates_are_named() -> None:
    """Somebody who must choose is told between whom."""
    problem = AmbiguousError("Ada fits two people", ["I1 Ada Marsh", "I2 Ada Holm"], remedy="Use the id.")
    assert "I1 Ada Marsh; I2 Ada Holm. Use the id." in str(problem)


def test_only_the_first_bad_rows_are_spelled_out() -> None:
    """A spreadsheet with a thousand bad rows still gives one readable line."""
    problem = RowsRejectedError([(n, "no such person") for n in range(2, 1002)], where="links.csv")
    assert "line 6: no such person; and 995 more" in str(problem)
    assert len(str(problem)) < 400
