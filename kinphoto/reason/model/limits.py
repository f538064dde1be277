"""What is never in doubt: the limits that laws, bounds and densities share. Sources: "Laws" of docs/method.md."""

from __future__ import annotations

from datetime import date

FIRST_PHOTOGRAPH = date(1826, 1, 1).toordinal()
"""The day before which nothing was photographed."""
LONGEST_LIFE = 123
"""Years that nobody lives longer than."""
YOUNGEST_PARENT, OLDEST_MOTHER, OLDEST_FATHER = 10, 75, 100
"""Years by which a parent is older than a child: at least, a mother at most, a father at most (judgements of the
project)."""
AFTER_FATHERS_DEATH = 365
"""Days after its father's death within which a child is born (a judgement of the project)."""
YOUNGEST_SPOUSE = 10
"""Age from which somebody can marry (a judgement of the project)."""
LAID_OUT_WITHIN = 60
"""Days after a death (a judgement of the project)."""
EVENT_BEFORE, EVENT_AFTER = 1, 60
"""Days before and after an event on which a picture of it is taken (a judgement of the project)."""
SAME_OCCASION = 1
"""Days by which pictures of one occasion are apart at most."""
ALLOWANCE = 1
"""Years either way that a stated age may be off ("in her seventh year"), unless its trust is certain."""
