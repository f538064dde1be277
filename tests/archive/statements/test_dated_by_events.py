"""Pictures that somebody dates by a life in the family: "before Ada was born", "Edda's 7th birthday"."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from building import archive_with

from kinphoto.archive import Archive
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.words.dates import when
from kinphoto.errors import AmbiguousError, InvalidValueError, NotFoundError

TREE = """\
0 HEAD
1 GEDC
2 VERS 5.5.1
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Ada /Marsh/
1 SEX F
1 BIRT
2 DATE 2 MAY 1917
1 CHR
2 DATE 20 MAY 1917
1 FAMC @F1@
0 @I2@ INDI
1 NAME Edda /Marsh/
1 SEX F
1 BIRT
2 DATE 11 SEP 1920
1 FAMC @F1@
0 @I3@ INDI
1 NAME Odo /Marsh/
1 SEX M
1 BIRT
2 DATE 1882
1 DEAT
2 DATE 3 MAR 1931
1 FAMS @F1@
0 @I4@ INDI
1 NAME Rosa /Kemp/
1 SEX F
1 BIRT
2 DATE 1890
1 FAMS @F1@
0 @I5@ INDI
1 NAME Odo /Marsh/
1 SEX M
1 BIRT
2 DATE 1922
1 FAMC @F1@
0 @I6@ INDI
1 NAME Signe /Holm/
1 SEX F
0 @F1@ FAM
1 HUSB @I3@
1 WIFE @I4@
1 CHIL @I1@
1 CHIL @I2@
1 CHIL @I5@
1 MARR
2 DATE 14 JUN 1914
0 TRLR
"""


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """A couple with three children, of whom Edda tells stories, and four photographs."""
    made = archive_with(tmp_path, TREE, scans=4)
    made.statements.add_informant("Aunt Edda", "I2")
    return made


def say(archive: Archive, words: str, photograph: str = "K1", kind: str = "recollection", by: str = "") -> str:
    """Record what somebody says, and how it was understood."""
    return archive.statements.record(NewClaim(photograph=photograph, kind=kind, date=words, by=by or None))[0].words


def told(archive: Archive, photograph: str = "K1") -> str:
    """When a photograph was taken, in words."""
    return when(archive.dates.estimates([photograph])[0].estimate)


def span(archive: Archive, photograph: str = "K1") -> tuple[date, date]:
    """The first and last day on which it can have been taken."""
    found = archive.dates.estimates([photograph])[0].estimate
    return date.fromordinal(found.earliest), date.fromordinal(found.latest)


SAID: dict[str, tuple[date, date | None]] = {
    "before Ada was born": (date(1826, 1, 1), date(1917, 5, 2)),
    "after Odo and Rosa married": (date(1914, 6, 14), None),
    "the year Ada was born": (date(1917, 1, 1), date(1917, 12, 31)),
    "when Edda was seven": (date(1927, 9, 9), date(1928, 9, 12)),
    "Ada's 7th birthday": (date(1924, 4, 22), date(1924, 5, 17)),
    "Ada's christening": (date(1917, 5, 19), date(1917, 7, 19)),
}


@pytest.mark.parametrize("words", SAID)
def test_the_days_it_allows(archive: Archive, words: str) -> None:
    """Counted from the day that the tree gives the event; told as a fact, for a memory is no wall."""
    say(archive, words, kind="taken")
    first, last = span(archive)
    days = SAID[words]
    assert first == days[0]
    assert days[1] is None or last == days[1]


def test_it_is_shown_in_full_words_with_who_is_meant(archive: Archive) -> None:
    """On the photograph, in the explanation and in the log, so that a mistaken namesake is seen."""
    assert say(archive, "when Ada was three") == "recollection when Ada Marsh (I1) was 3"
    mark = archive.photographs.details("K1").marks[0]
    assert (mark.kind, mark.date) == ("recollection", "when Ada Marsh (I1) was 3")
    assert "K00001 was taken when Ada Marsh was 3, from memory" in archive.dates.explanation("K1").text
    assert "when Ada Marsh (I1) was 3" in archive.statements.history()[0].what
    said = [one.text for one in archive.dates.explanation("K1").parts]
    assert "Ada Marsh was born on 2 May 1917" in said  # though she is not in it


def test_words_on_the_back_are_quoted_as_they_stand(archive: Archive) -> None:
    """Whoever wrote "Ada's 7th birthday" on it dated it."""
    archive.statements.record(
        NewClaim(photograph="K1", kind="inscription", date="Ada's 7th birthday", text="Ada's 7th birthday!")
    )
    text = archive.dates.explanation("K1").text
    assert "“Ada's 7th birthday!” is written on K00001, read as at the 7th birthday of Ada Marsh" in text
    assert told(archive).startswith("1924") or "1924" in told(archive)


def test_i_and_my_are_of_whoever_tells(archive: Archive) -> None:
    """Aunt Edda is known to be Edda Marsh; of somebody unknown it is asked."""
    assert say(archive, "when I was seven", by="Aunt Edda") == "recollection when Edda Marsh (I2) was 7"
    assert "the death of Odo Marsh (I3)" in say(archive, "after my father died", "K2", by="Aunt Edda")
    assert "the marriage of" in say(archive, "my parents' wedding", "K3", by="Aunt Edda")
    with pytest.raises(InvalidValueError, match="it is not clear who says “I”"):
        say(archive, "when I was seven", "K4")
    with pytest.raises(InvalidValueError, match="it is not clear who says “my father”"):
        say(archive, "after my father died", "K4", by="A neighbour")


def test_she_is_the_one_woman_named_in_the_picture(archive: Archive) -> None:
    """With two it could be either."""
    archive.statements.link(Link(photograph="K1", person="I1"))
    archive.statements.link(Link(photograph="K1", person="I3"))
    assert say(archive, "when she was nine") == "recollection when Ada Marsh (I1) was 9"
    archive.statements.link(Link(photograph="K1", person="I2"))
    with pytest.raises(InvalidValueError, match="it is not clear who “she” is: it could be any of 2 in it"):
        say(archive, "before she was ten")
    with pytest.raises(InvalidValueError, match="it is not clear who “they” are"):
        say(archive, "before they got married")


COUPLE = "the marriage of Odo Marsh and Rosa Kemp (F1)"


def test_they_are_the_one_couple_in_the_picture(archive: Archive) -> None:
    """Or the couple whose wedding it shows. With two couples, with one of them, and in what only one does it is asked
    for the names; "ihre" is of the couple, and where there is none of the one woman."""
    with pytest.raises(InvalidValueError, match="it is not clear who “their” are: no couple is named in the picture"):
        say(archive, "their wedding")
    for person in ("I3", "I4", "I1"):
        archive.statements.link(Link(photograph="K1", person=person))
    for words, then in {
        "before they married": f"before {COUPLE}",
        "after their wedding": f"after {COUPLE}",
        "bevor sie heirateten": f"before {COUPLE}",
        "nach ihrer Hochzeit": f"after {COUPLE}",
    }.items():
        assert say(archive, words) == f"recollection {then}", words
    with pytest.raises(NotFoundError, match="the tree has no engagement of Odo Marsh"):
        say(archive, "when they were engaged")
    with pytest.raises(InvalidValueError, match="it is not clear who “they” are"):
        say(archive, "before they were born")
    archive.statements.link(Link(photograph="K2", person="I4"))
    with pytest.raises(InvalidValueError, match="no couple is named in the picture"):
        say(archive, "before they married", "K2")
    assert say(archive, "vor ihrer Hochzeit", "K2") == f"recollection before {COUPLE}"
    archive.statements.record(NewClaim(photograph="K3", kind="event", date="F1:MARR"))
    assert say(archive, "just after their wedding", "K3") == f"recollection soon after {COUPLE}"


def test_of_two_couples_it_is_asked(tmp_path: Path) -> None:
    """Where two couples stand side by side, unless the picture shows the wedding of one of them; and a couple that did
    not marry, as somebody said, is not meant."""
    archive = archive_with(
        tmp_path,
        "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n"
        + "".join(f"0 @I{i}@ INDI\n1 NAME P{i} /Holm/\n1 SEX {sex}\n" for i, sex in enumerate("MFMF", 1))
        + "".join(f"0 @F{i}@ FAM\n1 HUSB @I{2 * i - 1}@\n1 WIFE @I{2 * i}@\n1 MARR\n2 DATE 19{i}0\n" for i in (1, 2))
        + "0 TRLR\n",
        photographs=1,
    )
    for person in ("I1", "I2", "I3", "I4"):
        archive.statements.link(Link(photograph="K1", person=person))
    with pytest.raises(InvalidValueError, match="who “they” are: it could be any of 2 couples in it"):
        say(archive, "before they married")
    shown = archive.statements.record(NewClaim(photograph="K1", kind="event", date="F2:MARR"))[0].statement
    assert "the marriage of P3 Holm and P4 Holm (F2)" in say(archive, "just after their wedding")
    archive.statements.withdraw(shown)
    archive.statements.withdraw("M2")
    assert "the marriage of P1 Holm and P2 Holm (F1)" in say(archive, "before they married")


def test_whose_birth_of_two(archive: Archive) -> None:
    """Parents were born on two days: it is asked for one of them."""
    with pytest.raises(InvalidValueError, match="“my parents” are 2 people"):
        say(archive, "before my parents were born", by="Aunt Edda")


def test_namesakes_and_strangers_are_asked_about(archive: Archive) -> None:
    """As everywhere else: with the years that tell them apart, or the nearest name. A couple is told by both names."""
    with pytest.raises(AmbiguousError, match="2 people match 'Odo'"):
        say(archive, "before Odo was born")
    with pytest.raises(NotFoundError, match="nobody called 'Zorro'"):
        say(archive, "before Zorro was born")
    with pytest.raises(NotFoundError, match="the tree has no christening of Edda Marsh"):
        say(archive, "at Edda's christening")
    assert "the marriage of" in say(archive, "before Odo and Rosa married")
    assert archive.photographs.details("K1").marks[0].date == "before the marriage of Odo Marsh and Rosa Kemp (F1)"


def test_only_what_dates_the_picture_can_be_told_so(archive: Archive) -> None:
    """A postmark has a date; and words that are neither date nor life are refused as before."""
    with pytest.raises(InvalidValueError, match="a postmark has a date of its own"):
        say(archive, "before Ada was born", kind="postmark")
    with pytest.raises(InvalidValueError, match="cannot be understood"):
        say(archive, "before the roof came off")


def test_the_date_follows_the_tree(archive: Archive, tmp_path: Path) -> None:
    """A birth is corrected and the person has another id in the new file: the picture goes along, undone it returns."""
    say(archive, "Ada's 7th birthday", kind="taken")
    assert span(archive)[0].year == 1924
    newer = tmp_path / "newer.ged"
    newer.write_text(
        TREE.replace("2 MAY 1917", "2 MAY 1919").replace("20 MAY 1917", "20 MAY 1919").replace("@I1@", "@I77@")
    )
    archive.tree.import_file(newer)
    assert span(archive)[0].year == 1926
    assert archive.photographs.details("K1").marks[0].date == "at the 7th birthday of Ada Marsh (I77)"
    archive.statements.undo()
    assert span(archive)[0].year == 1924


def test_what_cannot_be_true_names_the_event(archive: Archive) -> None:
    """Edda is in it, and it was taken before she was born."""
    archive.statements.link(Link(photograph="K1", person="I2"))
    say(archive, "before Ada was born")
    (story,) = archive.dates.conflicts().stories
    said = " ".join(each.text for each in story.statements)
    assert "K00001 was taken before the birth of Ada Marsh, from memory" in said
    assert "Edda Marsh is in K00001" in said


def test_a_birth_that_is_not_known_bounds_nothing_yet(archive: Archive) -> None:
    """Kept all the same; it counts as soon as the tree has the birth."""
    say(archive, "before Signe was born", kind="taken")
    assert archive.photographs.details("K1").marks[0].date == "before the birth of Signe Holm (I6)"
    before = span(archive)[1]
    archive.statements.record(NewClaim(photograph="K2", kind="taken", date="1931"))
    assert span(archive)[1] == before


def test_from_a_spreadsheet_and_withdrawn(archive: Archive, tmp_path: Path) -> None:
    """The same words in a row; withdrawn, the picture has no date again."""
    sheet = tmp_path / "said.csv"
    sheet.write_text("photo,kind,date,informant\nK00001,taken,when Edda was seven,Aunt Edda\n")
    archive.statements.apply_spreadsheet("statements", sheet)
    assert span(archive)[0] == date(1927, 9, 9)
    archive.statements.withdraw("S1")
    assert span(archive)[0].year == 1826


def test_in_hindsight_it_is_hidden_with_the_dates_of_its_photograph(archive: Archive) -> None:
    """It would give the hidden date away; nothing else is known of the picture."""
    archive.statements.record(NewClaim(photograph="K1", kind="taken", date="9 MAY 1924"))
    say(archive, "Ada's 7th birthday")
    assert archive.dates.hindsight().undated == ("K00001",)


def test_whoever_a_neighbour_turns_out_to_be(archive: Archive) -> None:
    """Dated by the birth of somebody outside the tree, who is found in it later: then it counts."""
    archive.people.add("Jon Tveit")
    say(archive, "before Jon Tveit was born", kind="taken")
    say(archive, "Ada's 7th birthday", "K2", kind="taken")
    assert span(archive)[1].year > 1917
    archive.people.identify("X1", "I1")
    assert span(archive)[1] == date(1917, 5, 2)
    assert "K00001 was taken before the birth of Ada Marsh" in archive.dates.explanation("K1").text


def test_a_life_in_words_on_a_back_is_offered(archive: Archive) -> None:
    """Beside the dates in it; not of somebody unknown, and not where the words mean something else."""
    text = "Skerry Point, Ada's 7th birthday. With Zorro, before Zorro was born. Whitsun 1931?"
    found = archive.statements.dates_in_words("K1", text)
    assert [(one.text, one.readings[0].words) for one in found] == [
        ("Ada's 7th birthday", "at the 7th birthday of Ada Marsh (I1)"),
        ("Whitsun 1931?", "perhaps between 23 and 25 May 1931"),
    ]
    assert [text[one.start :].startswith(one.text) for one in found] == [True, True]
    done, _ = archive.statements.record(
        NewClaim(photograph="K1", kind="inscription", text="when I was seven", by="Aunt Edda")
    )
    assert [one.readings[0].words for one in done.dates_found] == ["when Edda Marsh (I2) was 7"]


def test_a_typed_date_is_read_or_says_why_not(archive: Archive) -> None:
    """A date, a life, a namesake, and neither."""
    typed = {"1931": "1931", "before Ada was born": "before the birth of Ada Marsh (I1)"}
    assert {said: archive.statements.date_typed("K1", said).readings[0].words for said in typed} == typed
    assert "2 people match 'Odo'" in archive.statements.date_typed("K1", "before Odo was born").problem
    assert "cannot be understood" in archive.statements.date_typed("K1", "before the roof came off").problem
