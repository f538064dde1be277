"""Dates as the tables keep them: the columns that `event` and `statement` have in common, and those of a statement that
names an event of the tree."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import ColumnElement, RowMapping, or_
from sqlalchemy.sql.base import ReadOnlyColumnCollection

from kinphoto.reason.model.span import Dated, Shape, Span, doubted


def dated(row: Mapping[str, Any] | RowMapping) -> Dated:
    """The date of an `event` or `statement` row, wider if there is a question mark."""
    date = Dated(
        Span(row["first"], row["last"]),
        Shape(row["shape"]),
        row["centre"],
        row["spread"],
        row["date_text"],
        bool(row["doubtful"]),
    )
    return doubted(date) if date.doubtful and date.span != Span() else date


def date_columns(dated: Dated) -> dict[str, Any]:
    """The columns in which `event` and `statement` keep a date."""
    return {
        "first": dated.span.first,
        "last": dated.span.last,
        "shape": str(dated.shape),
        "centre": dated.centre,
        "spread": dated.spread,
        "doubtful": int(dated.doubtful),
    }


def lapse_of(row: Mapping[str, Any] | RowMapping) -> Span | None:
    """How many days after the event in its `value` a `statement` says that a picture was taken; None of any other."""
    lapse = Span(row["days_from"], row["days_to"])
    return None if lapse == Span() else lapse


def names_event(row: Mapping[str, Any] | RowMapping) -> bool:
    """Whether a `statement` row is about an event of the tree, whose key is its `value`: it is shown, or dates it."""
    return row["kind"] == "event" or lapse_of(row) is not None


def naming_events(statement: ReadOnlyColumnCollection[str, Any]) -> ColumnElement[bool]:
    """The same as a condition on the columns of `statement`."""
    return or_(statement.kind == "event", statement.days_from.is_not(None), statement.days_to.is_not(None))
