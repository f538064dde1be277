"""The types of arrays, in one word each, and the least number that a logarithm or a quotient is taken of."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
"""An array of floats."""
Ints = NDArray[np.int64]
"""An array of whole numbers: rows, places, counts."""
SMALLEST = 1e-300
"""What a likelihood is at least where its logarithm is taken, or something divided by it."""
