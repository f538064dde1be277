"""The types of arrays, in one word each."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
"""An array of floats."""
Ints = NDArray[np.int64]
"""An array of whole numbers: rows, places, counts."""
