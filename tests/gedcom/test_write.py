"""Writing pictures into a tree file: everything else stays as it is, and what is ours is found again."""

from __future__ import annotations

import io
import unicodedata
from pathlib import Path

import gedcom7
import pytest
from ged4py import GedcomReader
from hypothesis import given, settings
from hypothesis import strategies as st

from kinphoto.gedcom import decode
from kinphoto.gedcom.verbatim import Verbatim
from kinphoto.gedcom.write import Medium, PicturesToWrite, TreeWriter, codes

FIVE = """0 HEAD
1 SOUR bench
2 VERS 9.9
1 GEDC
2 VERS 5.5.1
2 FORM LINEAGE-LINKED
1 CHAR {}
1 SUBM @U1@
0 @U1@ SUBM
1 NAME Zoë
0 @I1@ INDI
1 NAME Zoë /Dörr/
1 SEX F
1 BIRT
2 DATE 3 MAR 1890
1 OBJE @M9@
1 FAMS @F1@
0 @I2@ INDI
1 NAME Gorm /Holm/
1 FAMS @F1@
0 @F1@ FAM
1 HUSB @I2@
1 WIFE @I1@
1 MARR
2 DATE 2 MAY 1917
0 @M9@ OBJE
1 FILE wedding.jpg
2 FORM jpg
0 TRLR
"""
SEVEN = """0 HEAD
1 GEDC
2 VERS 7.0
0 @I1@ INDI
1 NAME Zoë /Dörr/
0 @I2@ INDI
1 NAME Gorm /Holm/
0 TRLR
"""
ENCODINGS = [
    ("UTF-8", "utf-8"),
    ("UTF-8", "utf-8-sig"),
    ("UNICODE", "utf-16"),
    ("UNICODE", "utf-16-be"),
    ("ANSEL", "gedcom"),
    ("ANSI", "cp1252"),
    ("IBMPC", "cp437"),
    ("MACINTOSH", "mac-roman"),
]
MEDIA = {
    "K00001": Medium("K00001", "scans/Kräh.jpg", "jpg", "Zoë at the gate"),
    "K00002": Medium("K00002", "scans/a@b.jpg", "jpg"),
}
PICTURES = PicturesToWrite(MEDIA, {"I1": {"K00001": (10, 20, 30, 40), "K00002": None}, "I2": {"K00001": None}})
NOTHING = PicturesToWrite({}, {})


def write(
    path: Path, data: bytes, pictures: PicturesToWrite = PICTURES, mark: str = "abc", outside: tuple[str, ...] = ()
) -> bytes:
    """The bytes of the file with these pictures in it."""
    path.write_bytes(data)
    file = Verbatim(decode.examine(path))
    return b"".join(file.stored(TreeWriter(file, mark, codes(file, outside)).pieces(pictures)))


def lines(path: Path, data: bytes) -> list[str]:
    """The lines of a file as they are read."""
    path.write_bytes(data)
    return b"".join(decode.blocks(decode.examine(path), lambda *_: None)).decode().splitlines()


def added(before: list[str], after: list[str]) -> list[str]:
    """What stands in `after` beside all of `before`, which must be there in order."""
    rest, new = iter(before), []
    expected = next(rest, None)
    for line in after:
        if line == expected:
            expected = next(rest, None)
        else:
            new.append(line)
    assert expected is None
    return new


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize(("declared", "codec"), ENCODINGS)
def test_every_other_line_stays(tmp_path: Path, declared: str, codec: str, end: str) -> None:
    """In each encoding and with each line end only lines of ours are new, and without them the bytes are as before."""
    data = FIVE.format(declared).replace("\n", end).encode(codec)
    out = write(tmp_path / "t.ged", data)
    assert added(lines(tmp_path / "a.ged", data), lines(tmp_path / "b.ged", out)) == [
        "1 OBJE @K00001@",
        "1 OBJE @K00002@",
        "1 OBJE @K00001@",
        "0 @K00001@ OBJE",
        "1 FILE scans/Kräh.jpg",
        "2 FORM jpg",
        "3 TYPE photo",
        "2 TITL Zoë at the gate",
        "1 REFN K00001",
        "2 TYPE kinphoto abc",
        "0 @K00002@ OBJE",
        "1 FILE scans/a@@b.jpg",
        "2 FORM jpg",
        "3 TYPE photo",
        "1 REFN K00002",
        "2 TYPE kinphoto abc",
    ]
    assert write(tmp_path / "t.ged", out) == out
    assert write(tmp_path / "t.ged", out, NOTHING) == data


@pytest.mark.parametrize(("declared", "codec"), [e for e in ENCODINGS if e[0] in ("UTF-8", "ANSEL", "ANSI")])
def test_5_5_1_against_ged4py(tmp_path: Path, declared: str, codec: str) -> None:
    """ged4py finds the same people, families and dates as before, and whoever has a picture leads to its file."""
    data = FIVE.format(declared).encode(codec)
    (tmp_path / "before.ged").write_bytes(data)
    (tmp_path / "after.ged").write_bytes(write(tmp_path / "t.ged", data))

    def told(name: str) -> list[tuple[str, ...]]:
        with GedcomReader(str(tmp_path / name)) as reader:
            people = [
                (p.xref_id, str(p.name.format()), str(p.sub_tag_value("BIRT/DATE"))) for p in reader.records0("INDI")
            ]
            couples = [
                (f.xref_id, f.sub_tag("HUSB").xref_id, str(f.sub_tag_value("MARR/DATE")))
                for f in reader.records0("FAM")
            ]
            return people + couples

    assert told("after.ged") == told("before.ged")
    with GedcomReader(str(tmp_path / "after.ged")) as reader:
        (zoe,) = (p for p in reader.records0("INDI") if p.xref_id == "@I1@")
        files = [medium.sub_tag("FILE") for medium in zoe.sub_tags("OBJE")]
        paths = [
            unicodedata.normalize("NFC", f.value).replace("@@", "@") for f in files
        ]  # ged4py leaves both as they are
        assert paths == ["wedding.jpg", "scans/Kräh.jpg", "scans/a@b.jpg"]
        assert [f.sub_tag_value("FORM") for f in files] == ["jpg"] * 3


def test_7_against_gedcom7(tmp_path: Path) -> None:
    """gedcom7 finds nothing wrong, and CROP with its sides below the link."""
    media = {"K00001": Medium("K00001", "scans/Kr%C3%A4h.jpg", "image/jpeg", "@home")}
    pictures = PicturesToWrite(
        media, {"I1": {"K00001": (10, 20, 30, 40)}, "I2": {"K00001": None}}, {"I2": "born about 1893"}
    )
    records = gedcom7.load(io.BytesIO(write(tmp_path / "t.ged", SEVEN.encode(), pictures)))
    assert gedcom7.validate(records) == []
    (zoe,) = (r for r in records if r.xref == "@I1@")
    (link,) = (c for c in zoe.children if c.tag == "OBJE")
    assert link.pointer == "@K00001@"
    assert [(c.tag, c.value) for c in link.children[0].children] == [
        ("TOP", 10),
        ("LEFT", 20),
        ("HEIGHT", 30),
        ("WIDTH", 40),
    ]
    (medium,) = (r for r in records if r.tag == "OBJE")
    assert medium.children[0].value == "scans/Kr%C3%A4h.jpg"
    assert [c.text for c in medium.children[0].children] == ["image/jpeg", "@home"]


def test_what_is_no_longer_so_is_taken_out(tmp_path: Path) -> None:
    """Another title, another frame and a name less change those lines only; the rest of our records stays in place."""
    media = {"K00001": Medium("K00001", "a.jpg", "image/jpeg"), "K00002": Medium("K00002", "b.jpg", "image/jpeg")}
    first = PicturesToWrite(media, {"I1": {"K00001": (1, 2, 3, 4), "K00002": None}, "I2": {"K00002": None}})
    out = write(tmp_path / "t.ged", SEVEN.encode(), first).decode()
    edited = out.replace("2 TYPE kinphoto abc\n0 @K00002@", "2 TYPE kinphoto abc\n1 NOTE seen\n0 @K00002@")
    later = PicturesToWrite(
        {"K00001": Medium("K00001", "a.jpg", "image/jpeg", "At sea")}, {"I1": {"K00001": (1, 2, 3, 5)}}
    )
    again = write(tmp_path / "t.ged", edited.encode(), later).decode()
    expected = edited.replace("3 WIDTH 4\n1 OBJE @K00002@\n", "3 WIDTH 5\n").replace("1 OBJE @K00002@\n", "")
    expected = expected.replace("3 MEDI PHOTO\n1 REFN K00001", "3 MEDI PHOTO\n2 TITL At sea\n1 REFN K00001")
    assert again == expected[: expected.index("0 @K00002@")] + "0 TRLR\n"


def test_a_record_another_one_leads_to_stays(tmp_path: Path) -> None:
    """Somebody cited our record in a source of their own: it is not taken away from under that."""
    out = write(tmp_path / "t.ged", SEVEN.encode()).decode()
    cited = out.replace("1 NAME Gorm /Holm/\n", "1 NAME Gorm /Holm/\n1 BIRT\n2 OBJE @K00001@\n")
    left = write(tmp_path / "t.ged", cited.encode(), NOTHING).decode()
    assert "0 @K00001@ OBJE" in left
    assert "0 @K00002@ OBJE" not in left
    assert "1 OBJE @K00001@" not in left


def test_renumbered_and_doubled_records_of_ours_are_known(tmp_path: Path) -> None:
    """A program that gave all media new pointers, and one that wrote ours twice, lead to one record and one link."""
    out = write(tmp_path / "t.ged", SEVEN.encode()).decode().replace("@K00001@", "@O7@")
    assert write(tmp_path / "t.ged", out.encode()).decode() == out
    double = "0 @O8@ OBJE\n1 FILE x.jpg\n2 FORM image/jpeg\n1 REFN K00001\n2 TYPE kinphoto abc\n0 TRLR\n"
    twice = out.replace("0 TRLR\n", double).replace("1 OBJE @O7@", "1 OBJE @O8@", 1)
    assert write(tmp_path / "t.ged", twice.encode()).decode() == out


def test_pictures_of_another_archive_are_not_ours(tmp_path: Path) -> None:
    """A cousin's archive has a K00001 too; both stand in the tree, each with its own pointer."""
    theirs = write(tmp_path / "t.ged", SEVEN.encode(), mark="abc")
    both = write(tmp_path / "t.ged", theirs, mark="xyz")
    assert b"0 @K00001_2@ OBJE" in both
    assert write(tmp_path / "t.ged", both, NOTHING, mark="xyz") == theirs


def test_codes_of_people_who_share_a_pointer(tmp_path: Path) -> None:
    """A second record with a pointer, and one whose pointer is taken outside the tree, go by the import's codes."""
    data = b"0 HEAD\n1 GEDC\n2 VERS 5.5.1\n0 @I1@ INDI\n1 SEX M\n0 @I1@ INDI\n1 SEX F\n0 @X1@ INDI\n1 SEX X\n0 TRLR\n"
    media = {"K00001": MEDIA["K00001"]}
    for code, sex in (("I1", "M"), ("I1-2", "F"), ("X1-2", "X")):
        out = write(tmp_path / "t.ged", data, PicturesToWrite(media, {code: {"K00001": None}}), outside=("X1",))
        assert f"1 SEX {sex}\n1 OBJE @K00001@\n".encode() in out
        assert out.count(b"1 OBJE") == 1


def test_a_note_of_ours_is_replaced(tmp_path: Path) -> None:
    """What the photographs suggest is one note, the newest; other notes stay."""
    data = SEVEN.replace("1 NAME Gorm /Holm/\n", "1 NAME Gorm /Holm/\n1 NOTE his own\n").encode()
    one = write(tmp_path / "t.ged", data, PicturesToWrite({}, {}, {"I2": "born about 1893"}))
    assert b"1 NOTE his own\n1 NOTE kinphoto: born about 1893\n" in one
    assert write(tmp_path / "t.ged", one, PicturesToWrite({}, {}, {"I2": "born about 1893"})) == one
    assert b"1 NOTE his own\n1 NOTE kinphoto: born in 1892\n" in write(
        tmp_path / "t.ged", one, PicturesToWrite({}, {}, {"I2": "born in 1892"})
    )
    assert write(tmp_path / "t.ged", one, NOTHING) == data


def test_letters_the_encoding_does_not_have(tmp_path: Path) -> None:
    """They are refused: a path must lead to its file. In ANSEL also letters that would come back joined."""
    for name in ("日本.jpg", "Kra\u0308h.jpg"):
        pictures = PicturesToWrite({"K00001": Medium("K00001", name, "jpg")}, {"I1": {"K00001": None}})
        with pytest.raises(UnicodeEncodeError):
            write(tmp_path / "t.ged", FIVE.format("ANSEL").encode("gedcom"), pictures)


@pytest.mark.parametrize("data", [b"0 HEAD\n0 @I1@ INDI\n1 NAME A /B/", b"0 HEAD\n0 @I1@ INDI\n1 NAME A /B/\n"])
def test_a_file_cut_off(tmp_path: Path, data: bytes) -> None:
    """Without TRLR the records come at the end, on lines of their own, and the file stays cut off."""
    out = write(tmp_path / "t.ged", data, PicturesToWrite({"K00001": MEDIA["K00001"]}, {"I1": {"K00001": None}}, {}))
    assert out.decode().splitlines()[:4] == ["0 HEAD", "0 @I1@ INDI", "1 NAME A /B/", "1 OBJE @K00001@"]
    assert "TRLR" not in out.decode()
    assert (
        write(tmp_path / "t.ged", out, PicturesToWrite({"K00001": MEDIA["K00001"]}, {"I1": {"K00001": None}}, {}))
        == out
    )


LINE = st.one_of(
    st.sampled_from(
        ["0 @I1@ INDI", "0 @I2@ INDI", "0 INDI", "0 TRLR", "0 @K00001@ OBJE", "1 OBJE @K00001@", "1 OBJE @M1@",
         "2 OBJE @M1@", "1 REFN K00001", "2 TYPE kinphoto xyz", "1 NOTE kinphoto", "  1 NAME A /B/", "3 CONC x", "",
         "  ", "00 @I3@ INDI", "no level", "1 FILE x.jpg", "0 @M1@ OBJE", "2 CROP", "\ufeff0 HEAD", "0 HEAD"]
    ),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=12),
)  # fmt: skip
ENDS = st.sampled_from(["\n", "\r\n", "\r", "\n\n", ""])


@settings(max_examples=300, deadline=None)
@given(text=st.lists(st.tuples(LINE, ENDS), max_size=25), wide=st.booleans())
def test_any_mess_comes_back(tmp_path_factory: pytest.TempPathFactory, text: list[tuple[str, str]], wide: bool) -> None:
    """Whatever the lines are: nothing to add leaves every byte; pictures put in and taken out again leave them too."""
    data = ("0 HEAD\n1 GEDC\n2 VERS 7.0\n" + "".join(line + end for line, end in text)).encode(
        "utf-16" if wide else "utf-8"
    )
    path = tmp_path_factory.mktemp("t") / "t.ged"
    assert write(path, data, NOTHING) == data
    out = write(path, data)
    assert write(path, out) == out
    back = write(path, out, NOTHING)
    end = "\n".encode("utf-16-le") if wide else b"\n"
    assert back in (data, data + end)  # a last line that was not ended is, once something follows it
