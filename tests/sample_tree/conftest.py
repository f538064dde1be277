"""Lets the tests of the sample import it: beside the tests in a checkout, whichever kinphoto is under test."""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = str(Path(__file__).parents[2])
if ROOT not in sys.path:
    sys.path.append(ROOT)
