"""Somebody in the pictures who is not in the tree."""

from __future__ import annotations

from .family import Person

OUTSIDE = {
    "X1": Person("X1", "Alwin", "Prask", "M", "1901-05-20", "1971-09-09", born="1901", note="The baker's boy from next door; Emil's friend."),
}  # fmt: skip
