"""Ages in words."""

from __future__ import annotations

from kinphoto.phrases import counted


def age_words(low: float, high: float) -> str:
    """Completed years as people say them: "6 to 8", "7", "6 months", "6 months to 2"."""
    first, last = _age(low), _age(high)
    if first == last:
        return first
    if _in_months(low) and low < 1 and high < 1:
        return f"{round(low * 12)} to {last}"
    return f"{first} to {last}"


def _age(years: float) -> str:
    return counted(round(years * 12), "month") if _in_months(years) else f"{years:g}"


def _in_months(years: float) -> bool:
    return bool(years) and years != int(years) and years < 3
