"""What is never in doubt: the limits that laws, bounds and densities share. Sources: "Laws" of docs/method.md."""

from __future__ import annotations

from datetime import date

FIRST_PHOTOGRAPH = date(1826, 1, 1).toordinal()
LONGEST_LIFE = 123
YOUNGEST_PARENT, OLDEST_MOTHER, OLDEST_FATHER = 10, 75, 100
AFTER_FATHERS_DEATH = 365
YOUNGEST_SPOUSE = 10
LAID_OUT_WITHIN = 60
"""Days after a death (a judgement of the project)."""
EVENT_BEFORE, EVENT_AFTER = 1, 60
"""Days before and after an event on which a picture of it is taken (a judgement of the project)."""
SAME_OCCASION = 1
ALLOWANCE = 1
"""Years either way that a stated age may be off ("in her seventh year"), unless its trust is certain."""
