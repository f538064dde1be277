"""A body in its pose."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Body:
    """The heights (negative) and half widths of a body in its pose, in heads."""

    chin: float
    shoulder_y: float
    waist_y: float
    hip_y: float
    knee_y: float
    shoulder: float
    waist: float
    hip: float
    limb: float
    sits: bool
    heads: float
