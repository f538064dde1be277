"""Where a photograph lies, in words."""

from __future__ import annotations

import re

from kinphoto.archive import Archive


def test_the_pictures_beside_it_are_told_in_order_of_time(shared_sample: Archive) -> None:
    """Before "The wedding of Ambrose and Johanna" lies a picture of about 1910 and behind it one
    of about 1868: that is named first."""
    told = {}
    for code in ("K00031", "K00023"):
        bars = shared_sample.dates.evidence_strip(code).bars
        found = next(
            found for bar in bars if (found := re.search(r"between pictures of about (\d+) and (\d+)", bar.label))
        )
        told[code] = found.groups()
    assert told["K00031"] == ("1868", "1910")
    assert told["K00023"] == ("1886", "1892")
