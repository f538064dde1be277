"""Dates as the tables keep them: the columns that `event` and `statement` have in common."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import RowMapping

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
