"""Fronts and backs of a whole folder: the orders in which people scan, sizes, torn corners, and when it is not sure.

The sizes are those of common prints (90 × 60, 90 × 130, 100 × 150 mm ...: from memory); what belongs together is known,
because each folder is laid out by hand.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from PIL import Image, ImageDraw

from kinphoto.scans import near
from kinphoto.scans.pairing import ScanOrder, Side, outline, paired, same_outline, same_size

SIZES = [(90.0, 60.0), (130.0, 90.0), (150.0, 100.0), (89.0, 127.0), (140.0, 95.0), (70.0, 70.0), (180.0, 130.0)]


def front(number: int) -> Side:
    return Side(SIZES[number], 0.4)


def back(number: int) -> Side:
    width, height = SIZES[number]
    return Side((width * 1.004, height * 0.997), 0.01)


def found(sides: list[Side]) -> list[tuple[int, int]]:
    return [(pair.front, pair.back) for pair in paired(sides)]


def test_each_back_after_its_front() -> None:
    """Also where some have none, and all prints are of one size: its place is enough."""
    sides = [front(0), back(0), front(0), front(0), back(0), front(0)]
    pairs = paired(sides)
    assert [(pair.front, pair.back, pair.order) for pair in pairs] == [
        (0, 1, ScanOrder.ALTERNATING), (3, 4, ScanOrder.ALTERNATING)
    ]  # fmt: skip
    assert all(pair.sure for pair in pairs)


def test_all_backs_last() -> None:
    """In the same order, one missing: the sizes say which. The pairs next to the gap are less sure than the others."""
    numbers = [0, 1, 2, 3, 4, 5, 6]
    kept = [number for number in numbers if number != 3]
    sides = [*map(front, numbers), *map(back, kept)]
    assert found(sides) == [(number, 7 + at) for at, number in enumerate(kept)]
    assert {pair.order for pair in paired(sides)} == {ScanOrder.LAST}
    assert [pair.sure for pair in paired(sides)] == [True, True, False, False, True, True]


def test_the_pile_turned_over() -> None:
    """The last front is the first back."""
    sides = [*map(front, range(7)), *map(back, reversed(range(7)))]
    assert found(sides) == [(6 - at, 7 + at) for at in range(7)]
    assert {pair.order for pair in paired(sides)} == {ScanOrder.REVERSED}


def test_all_of_one_size_is_not_sure() -> None:
    """Nothing tells whether the pile was turned over, or which back is missing: pairs are proposed, and not sure."""
    for count in (7, 6):
        pairs = paired([front(0)] * 7 + [back(0)] * count)
        assert len(pairs) == count
        assert not any(pair.sure for pair in pairs)


def test_another_size_is_never_sure() -> None:
    """A back right after a front that is twice as large: perhaps the front was lost."""
    (pair,) = paired([front(2), back(0), front(3)])
    assert (pair.same_size, pair.sure) == (False, False)


def test_two_backs_in_a_row() -> None:
    """The second is left over: it is the first again, or of a print whose front was not scanned."""
    assert found([front(0), back(0), back(0), front(1), back(1)]) == [(0, 1), (3, 4)]
    assert not paired([front(0), back(0), back(0)])[0].sure


def test_what_could_be_either_is_not_sure() -> None:
    """A pale picture, a back full of stamps."""
    assert not any(pair.sure for pair in paired([Side(SIZES[0], 0.06), Side(SIZES[0], 0.045)]))


def test_the_best_alignment_is_the_best() -> None:
    """Against every way there is to lay four backs beside five fronts in order (brute force)."""
    from kinphoto.scans.pairing import _LOST_BACK, _LOST_FRONT, _aligned

    rng = np.random.default_rng(4)
    for _ in range(30):
        evidence = rng.normal(0, 4, (5, 4))
        best = max(
            sum(evidence[r, c] for r, c in zip(rows, columns, strict=True))
            + _LOST_FRONT * (5 - len(rows)) + _LOST_BACK * (4 - len(rows))
            for count in range(5)
            for rows in itertools.combinations(range(5), count)
            for columns in itertools.combinations(range(4), count)
        )  # fmt: skip
        score, links = _aligned(evidence)
        assert score == pytest.approx(best)
        gaps = _LOST_FRONT * (5 - len(links)) + _LOST_BACK * (4 - len(links))
        assert sum(evidence[row, column] for row, column, _ in links) + gaps == pytest.approx(best)
        for row, column, margin in links:
            without = evidence.copy()
            without[row, column] = -1e9
            assert margin == pytest.approx(best - _aligned(without)[0])


def print_on_bed(torn: bool, *, mirrored: bool = False, turned: int = 0, shade: int = 120) -> Image.Image:
    """A scan of a print on a white lid, perhaps with a torn corner and a notch."""
    image = Image.new("L", (400, 300), 250)
    drawing = ImageDraw.Draw(image)
    drawing.rectangle((40, 40, 360, 260), fill=shade)
    if torn:
        drawing.polygon([(40, 40), (210, 40), (40, 75)], fill=250)
        drawing.rectangle((300, 230, 330, 262), fill=250)
    if mirrored:
        image = image.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
    return image.rotate(90 * turned, expand=True)


@pytest.mark.parametrize("turned", range(4))
def test_a_torn_corner_is_found_on_the_back(turned: int) -> None:
    """Mirrored, and laid down in any of four ways; a print torn elsewhere is another."""
    one = Side(None, 0.4, outline(print_on_bed(True)))
    assert same_outline(one, Side(None, 0.0, outline(print_on_bed(True, mirrored=True, turned=turned, shade=200))))
    assert not same_outline(one, Side(None, 0.0, outline(print_on_bed(True, turned=turned, shade=200))))


def test_a_straight_print_has_no_outline() -> None:
    """Nor has one that fills the scan."""
    assert outline(print_on_bed(False)) is None
    assert outline(Image.linear_gradient("L")) is None


def test_sizes_compare_in_any_turn() -> None:
    """And are unknown without a resolution."""
    assert same_size(Side((90.0, 60.0), 0.1), Side((60.3, 89.8), 0.1)) is True
    assert same_size(Side((90.0, 60.0), 0.1), Side((90.0, 65.0), 0.1)) is False
    assert same_size(Side(None, 0.1), Side((90.0, 65.0), 0.1)) is None


@pytest.mark.parametrize("count", [400, 3500])
def test_near_hashes_against_python_itself(count: int) -> None:
    """What is found among few and among many is what `int.bit_count` finds, hash by hash."""
    rng = np.random.default_rng(count)
    hashes = [int(one) for one in rng.integers(0, 2**64, count, dtype=np.uint64)]
    for at in range(0, count, 50):
        hashes[at] = hashes[(at + 7) % count] ^ sum(
            1 << int(bit) for bit in rng.choice(64, at // 50 % 12, replace=False)
        )
    expected = {
        (one, other, apart)
        for one, other in itertools.combinations(range(count), 2)
        if (apart := (hashes[one] ^ hashes[other]).bit_count()) <= 8
    }
    assert set(near.pairs(hashes, 8)) == expected
    table = np.array(hashes, dtype=np.uint64)
    for one, other, _ in expected:
        assert {one, other} <= set(near.like(hashes[one], table, 8).tolist())


def test_papers_are_compared_where_both_show() -> None:
    """A front whose paper does not show on the bed, as under glare, is compared by the size of its scan."""
    glass, paper = (160.0, 120.0), (150.0, 105.0)
    assert same_size(Side(glass, 0.4), Side(glass, 0.01, paper=paper)) is True
    assert same_size(Side(glass, 0.4, paper=(150.2, 104.9)), Side(glass, 0.01, paper=paper)) is True
    assert same_size(Side(glass, 0.4, paper=(140.0, 90.0)), Side(glass, 0.01, paper=paper)) is False
    (pair,) = paired([Side(glass, 0.4), Side(glass, 0.01, paper=paper)])
    assert pair.same_size is True
