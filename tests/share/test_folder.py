"""The folder of what is given away, and the list of its files."""

from __future__ import annotations

from pathlib import Path

from kinphoto.share.folder import LIST, GiftFolder


def test_the_list_does_not_depend_on_which_file_was_ready_first(tmp_path: Path) -> None:
    """Files are made several at a time: the same gift has the same list, byte for byte, in whatever order they end."""
    lists = []
    for order in ("abc", "cab"):
        inside = GiftFolder(tmp_path / order, "copies", "household", [])
        inside.begin([f"{name}.jpg" for name in order])
        for name in order:
            inside.put(f"{name}.jpg", name, name.encode)
        inside.finish()
        lists.append((tmp_path / order / LIST).read_bytes())
    assert lists[0] == lists[1]
