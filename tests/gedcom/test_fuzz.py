"""Trees that something was done to: read, or refused in one line."""

from __future__ import annotations

from pathlib import Path

import fuzz_tree
import pytest


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_mutated_trees(tmp_path: Path, seed: int) -> None:
    """Hundreds of the corpus's trees with bytes, lines and levels exchanged raise nothing but errors of this program.

    `tests/bench/fuzz_tree.py` does the same with 100,000."""
    counts = fuzz_tree.fuzz(150, seed, tmp_path)
    assert set(counts) <= {"read", "refused", "imported"}
    assert counts["read"] > 50
    assert counts["imported"] > 0
