"""The kinds of row in the `statement` table, and the words that name them to a person."""

from __future__ import annotations

DATED_KINDS = ("taken", "inscription", "written", "recollection", "imprint", "print-stamp", "postmark", "event")
"""What `kinphoto state` records; all but `event` may carry a date."""

FROM_MEMORY = ("taken", "recollection")
"""Those that an informant knows from memory; the others stand on the object, and `by` says who read them."""

MADE_KINDS = ("process", "format")
RELATION_KINDS = ("before", "after", "same-occasion", "copy-of", "same-negative", "part-of")
AGE_KINDS = ("apparent-age", "stated-age")
