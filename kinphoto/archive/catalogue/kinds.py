"""The kinds of row in the `statement` table. What each means is in `reason/model/evidence.py`, its words are in
`words/kinds.py`."""

from __future__ import annotations

from kinphoto.reason.model.evidence import AgeBasis, Claim, Related

DATED_KINDS = (*(str(claim) for claim in Claim), "event")
"""What `kinphoto state` records; all but `event` may carry a date."""

FROM_MEMORY = tuple(str(claim) for claim in Claim if claim.from_memory)
"""Those that an informant knows from memory; the others stand on the object, and `by` says who read them."""

OF_EXPOSURE = tuple(str(claim) for claim in Claim if claim.of_exposure)
"""Those that date the picture itself."""

MADE_KINDS = ("process", "format")
RELATION_KINDS = tuple(str(related) for related in Related)
AGE_KINDS = tuple(f"{basis}-age" for basis in AgeBasis)
