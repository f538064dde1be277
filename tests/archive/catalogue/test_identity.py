"""Who somebody is in the end."""

from __future__ import annotations

from kinphoto.archive.catalogue.identity import Identity


def test_somebody_may_have_turned_out_twice() -> None:
    """The baker's wife was Aunt Dot, who was Ada: both are Ada, whoever asks."""
    identity = Identity({30: 20, 20: 1})
    assert [identity.of(each) for each in (30, 20, 1, 7)] == [1, 1, 1, 7]
    assert [identity.is_another(each) for each in (30, 20, 1, 7)] == [True, True, False, False]


def test_all_names_of_somebody() -> None:
    """Whatever was said of any of them is found, and whose it is."""
    identity = Identity({30: 20, 20: 1, 8: 7})
    assert identity.names([1, 5]) == {1: 1, 30: 1, 20: 1, 5: 5}
    assert identity.names([]) == {}


def test_a_damaged_archive_that_goes_round_in_circles() -> None:
    """Two who are said to be each other end the search instead of holding it up."""
    assert {Identity({2: 3, 3: 2}).of(each) for each in (2, 3)} <= {2, 3}
