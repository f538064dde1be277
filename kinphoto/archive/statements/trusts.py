"""How far a statement is believed when nobody said."""

from __future__ import annotations

from kinphoto.reason.model.evidence import DEFAULT_TRUST, Trust
from kinphoto.reason.model.span import Span, at_least

BY_QUALITY: dict[int | None, Trust] = {
    None: Trust.STRONG,
    3: Trust.STRONG,
    2: Trust.STRONG,
    1: Trust.FAIR,
    0: Trust.WEAK,
}
"""A tree date by the quality mark (GEDCOM QUAY) of its source."""

SHARED_LIFE = at_least(5)
"""Days two lives must be able to overlap for one to have known the other."""


def default_trust(kind: str) -> Trust:
    """The trust of a statement of this kind (a row's `kind`, or "appearance") when nobody gave one."""
    return DEFAULT_TRUST.get(kind, Trust.FAIR)


def can_have_known(one: Span, other: Span) -> bool:
    """Whether two lives (first possible birth to last possible death) can overlap by five years or more."""
    both = one.meet(other)
    return both.first is None or both.last is None or both.last - both.first >= SHARED_LIFE
