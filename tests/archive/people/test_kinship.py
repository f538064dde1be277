"""How people are related: against tables of consanguinity, against networkx, and in the words of English."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kinphoto.archive import Archive
from kinphoto.archive.people import kinship
from kinphoto.archive.people.kin_paths import MOST, Kindred, KinLine, KinRelation, Ties
from kinphoto.archive.people.kin_words import KinFacts, words
from kinphoto.errors import AmbiguousError, NotFoundError
from kinphoto.store import tables as t


def grow(folder: Path, families: Sequence[str], events: dict[int, str] | None = None) -> Archive:
    """An archive whose people are named by one word each, as families of "Ada Per > Ben Cia".

    Names that end in a are women's, others men's, those that end in x are of nobody knows which. `!Ben` was adopted,
    `~Ben` a foster child; `events` has a tag for a family's number.
    """
    archive = Archive.create(folder / "family")
    ids: dict[str, int] = {}
    with archive.working("a tree") as work:
        for at, text in enumerate(families):
            partners, children = (side.split() for side in text.split(">"))
            for name in (bare(each) for each in [*partners, *children]):
                if name not in ids:
                    sex = {"a": "F", "x": "U"}.get(name[-1], "M")
                    ids[name] = work.insert_one(t.person, code=name.upper(), name=name, sex=sex)
                    work.insert_one(t.name, person_id=ids[name], text=name, folded=name.lower())
            family = work.insert_one(t.family, code=f"F{at}")
            for tag in [events[at]] if events and at in events else []:
                work.insert_one(t.event, family_id=family, tag=tag)
            for partner in partners:
                work.insert_one(t.partner, family_id=family, person_id=ids[partner])
            for child in children:
                kind = {"!": "adopted", "~": "foster"}.get(child[0], "birth")
                for parent in partners:
                    link = {"child_id": ids[bare(child)], "parent_id": ids[parent], "pedigree": kind}
                    work.insert_one(t.parent_link, family_id=family, **link)
    return archive


def bare(name: str) -> str:
    """A name without the mark of how the child came."""
    return name.strip("!~")


def is_the(archive: Archive, one: str, other: str) -> str:
    """What the first is to the second, which the bulk function must say too."""
    found = archive.people.kinship(one, other)
    with archive.reading() as connection:
        who = dict(connection.execute(t.person.select().with_only_columns(t.person.c.name, t.person.c.id)).all())
        said = kinship.kin_of(connection, who[other], [who[one]], "my")
    assert said.get(who[one], "my ").removeprefix("my ") in found.words
    return found.words


CONSANGUINITY = (
    # The generations up and down from one to the other; degrees in civil and in canon law; what the other is called.
    # The table of consanguinity of the handbooks: civil degrees after the Institutes of Justinian 3.6, canonical ones
    # as the church counted them before 1983 (Codex of 1917, canon 96: in the collateral line the degrees of the longer
    # side). From memory.
    (1, 0, 1, 1, "father", "mother"),
    (2, 0, 2, 2, "grandfather", "grandmother"),
    (3, 0, 3, 3, "great-grandfather", "great-grandmother"),
    (4, 0, 4, 4, "great-great-grandfather", "great-great-grandmother"),
    (0, 1, 1, 1, "son", "daughter"),
    (0, 2, 2, 2, "grandson", "granddaughter"),
    (0, 3, 3, 3, "great-grandson", "great-granddaughter"),
    (1, 1, 2, 1, "brother", "sister"),
    (2, 1, 3, 2, "uncle", "aunt"),
    (1, 2, 3, 2, "nephew", "niece"),
    (3, 1, 4, 3, "great-uncle", "great-aunt"),
    (1, 3, 4, 3, "great-nephew", "great-niece"),
    (4, 1, 5, 4, "great-great-uncle", "great-great-aunt"),
    (2, 2, 4, 2, "first cousin", "first cousin"),
    (2, 3, 5, 3, "first cousin once removed", "first cousin once removed"),
    (3, 2, 5, 3, "first cousin once removed", "first cousin once removed"),
    (4, 2, 6, 4, "first cousin twice removed", "first cousin twice removed"),
    (3, 3, 6, 3, "second cousin", "second cousin"),
    (4, 3, 7, 4, "second cousin once removed", "second cousin once removed"),
    (4, 4, 8, 4, "third cousin", "third cousin"),
)


@pytest.mark.parametrize(("up", "down", "civil", "canon", "him", "her"), CONSANGUINITY)
@pytest.mark.parametrize("sex", "MF")
def test_the_table_of_consanguinity(up: int, down: int, civil: int, canon: int, him: str, her: str, sex: str) -> None:
    """Degrees and names of every place of the table, found in a tree that has two such lines and nothing else."""
    top, other_top = -1, -2
    one, other = [*range(1, up + 1)], [*range(11, down + 11)]
    parents = {child: {parent: "birth"} for line in (one, other) for child, parent in pairwise(line)}
    for line in (one, other):
        if line:
            parents[line[-1]] = {top: "birth", other_top: "birth"}
    start, end = (line[0] if line else top for line in (one, other))
    (relation,) = Kindred(Ties(parents)).relations(start, end)
    (line,) = relation.lines
    assert (line.up, line.down, line.civil, line.canon) == (up, down, civil, canon)
    assert line.full is (True if up and down else None)
    assert words(relation, KinFacts({end: sex}, lambda _one, _other: True)) == {"M": him, "F": her}[sex]


@pytest.mark.parametrize(
    ("up", "down", "sex", "said"),
    [
        (5, 0, "F", "great-great-great-grandmother"),
        (6, 0, "F", "four-times-great-grandmother"),
        (20, 0, "M", "18-times-great-grandfather"),
        (0, 6, "U", "four-times-great-grandchild"),
        (2, 1, "U", "uncle or aunt"),
        (1, 3, "U", "great-nephew or great-niece"),
        (1, 1, "X", "sibling"),
        (2, 0, "U", "grandparent"),
        (13, 16, "F", "twelfth cousin three times removed"),
        (14, 14, "F", "13th cousin"),
        (22, 40, "F", "21st cousin 18 times removed"),
    ],
)
def test_words_far_off_and_without_a_sex(up: int, down: int, sex: str, said: str) -> None:
    """Greats are counted when there are many; nothing is said of a sex that is not recorded."""
    relation = KinRelation((KinLine(1, 2, up, down),))
    assert words(relation, KinFacts({2: sex}, lambda _one, _other: True)) == said


@st.composite
def trees(draw: st.DrawFn) -> dict[int, list[int]]:
    """Random trees, endogamous ones too: everybody but the first few has up to two parents among those before them."""
    return {
        child: sorted(draw(st.sets(st.integers(0, child - 1), max_size=2)))
        for child in range(1, draw(st.integers(4, 18)))
    }


@given(trees())
@settings(max_examples=150, deadline=None)
def test_lines_against_networkx(up: dict[int, list[int]]) -> None:
    """The nearest is as short as networkx finds it, every lowest common ancestor is told, and every line is there."""
    graph = nx.DiGraph([(parent, child) for child, parents in up.items() for parent in parents])
    graph.add_nodes_from(range(len(up) + 1))
    kindred = Kindred(Ties({child: dict.fromkeys(of, "birth") for child, of in up.items() if of}))
    above = {person: nx.ancestors(graph, person) | {person} for person in graph}
    climb = {person: dict(nx.single_source_shortest_path_length(graph.reverse(), person)) for person in graph}
    for one in graph:
        for other in graph:
            if one == other:
                continue
            found = kindred.lines(one, other, most=1000)
            common = above[one] & above[other]
            assert bool(found) == bool(common)
            if not common:
                continue
            assert found[0].civil == min(climb[one][who] + climb[other][who] for who in common)
            told = {(who, line.up, line.down) for line in found for who in line.ancestors}
            lowest = [who for who in common if not (nx.descendants(graph, who) & common)]
            assert {(who, climb[one][who], climb[other][who]) for who in lowest} <= told
            for who, steps_up, steps_down in told:
                assert steps_up in {len(way) - 1 for way in nx.all_simple_paths(graph, who, one)} | {0}
                assert steps_down in {len(way) - 1 for way in nx.all_simple_paths(graph, who, other)} | {0}
            back = kindred.lines(other, one, most=1000)
            assert {(line.up, line.down) for line in found} == {(line.down, line.up) for line in back}


@given(trees())
@settings(max_examples=30, deadline=None)
def test_what_is_told_is_the_closest(up: dict[int, list[int]]) -> None:
    """Cut off after a few, the lines are the first of all of them by degree."""
    kindred = Kindred(Ties({child: dict.fromkeys(of, "birth") for child, of in up.items() if of}))
    last = len(up)
    for other in range(last):
        everything = [line.civil for line in kindred.lines(last, other, most=1000) if line.up and line.down]
        some = [line.civil for line in kindred.lines(last, other) if line.up and line.down]
        assert some == everything[: len(some)]
        assert len(kindred.relations(last, other)) <= MOST


def test_half_and_full(tmp_path: Path) -> None:
    """One parent in common is half, two are full; where a parent is not known neither is said."""
    archive = grow(tmp_path, ["Per Ada > Ben Cia", "Per Eva > Dag", "Dag Fia > Gus", "Ben Ida > Jon", "Kea > Leo Mia"])
    assert is_the(archive, "Ben", "Cia") == "brother"
    assert is_the(archive, "Dag", "Cia") == "half-brother"
    assert is_the(archive, "Cia", "Gus") == "half-aunt"
    assert is_the(archive, "Gus", "Jon") == "half first cousin"
    assert is_the(archive, "Leo", "Mia") == "brother"
    path = archive.people.kinship("Leo", "Mia").paths[0]
    assert (path.full, [one.id for one in path.ancestors]) == (None, ["KEA"])
    assert archive.people.kinship("Dag", "Cia").paths[0].full is False
    assert archive.people.kinship("Gus", "Jon").paths[0].full is False


def test_two_mothers_are_both_mothers(tmp_path: Path) -> None:
    """Their children are full sisters, and one is the other's wife."""
    archive = grow(tmp_path, ["Ada Eva > Mia Ida"])
    assert is_the(archive, "Ada", "Mia") == is_the(archive, "Eva", "Mia") == "mother"
    assert is_the(archive, "Ida", "Mia") == "sister"
    assert is_the(archive, "Ada", "Eva") == "wife"
    assert archive.people.kinship("Ida", "Mia").paths[0].full is True


MARRIED = [
    "Per Ada > Ben Cia", "Ben Eva >", "Olav Tea > Eva Sven", "Sven Ulla > Knut", "Ben Vera > Hal", "Ada Yngve > Zoea",
    "Yngve Mia > Nils", "Olav Rea > Siv", "Cia Bo >", "Bo Lea >", "Ola Una > Bo", "Mia Arvid >",
]  # fmt: skip


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        ("Eva", "Ben", "wife"),
        ("Ben", "Eva", "husband"),
        ("Tea", "Ben", "mother-in-law"),
        ("Ben", "Olav", "son-in-law"),
        ("Eva", "Per", "daughter-in-law"),
        ("Eva", "Cia", "brother's wife"),
        ("Cia", "Eva", "husband's sister"),
        ("Sven", "Ben", "wife's brother"),
        ("Knut", "Ben", "wife's nephew"),
        ("Ben", "Knut", "aunt's husband"),
        ("Yngve", "Ben", "stepfather"),
        ("Ben", "Yngve", "stepson"),
        ("Eva", "Hal", "stepmother"),
        ("Nils", "Ben", "stepbrother"),
        ("Nils", "Zoea", "half-brother"),
        ("Mia", "Ada", "husband's other wife"),
        ("Ulla", "Ben", "wife's brother's wife"),
        ("Una", "Ben", "sister's husband's mother"),
        ("Lea", "Cia", "husband's other wife"),
        ("Rea", "Eva", "stepmother"),
    ],
)
def test_kin_by_marriage(tmp_path: Path, one: str, other: str, said: str) -> None:
    """A word where English has one that means one thing only, otherwise step by step."""
    assert is_the(grow(tmp_path, MARRIED), one, other) == said


@pytest.mark.parametrize(("one", "other"), [("Lea", "Per"), ("Arvid", "Ben"), ("Arvid", "Una")])
def test_where_nothing_is_found_it_is_said(tmp_path: Path, one: str, other: str) -> None:
    """A daughter's husband's other wife is no kin in any word; the answer says how far was looked."""
    found = grow(tmp_path, MARRIED).people.kinship(one, other)
    assert (found.words, found.in_return, found.paths, found.same) == ("", "", (), False)
    assert found.within == 4


def test_the_way_is_told(tmp_path: Path) -> None:
    """Generations, common ancestors, degrees of affinity and the people at the marriages."""
    archive = grow(tmp_path, MARRIED)
    (path,) = archive.people.kinship("Ben", "Knut").paths
    assert (path.words, path.in_return) == ("aunt's husband", "wife's nephew")
    assert (path.up, path.down, path.civil, path.canon, path.marriages) == (1, 2, 3, 2, 1)
    assert [one.id for one in path.through] == ["EVA"]
    assert [one.id for one in path.ancestors] == ["OLAV", "TEA"]
    (path,) = archive.people.kinship("Ulla", "Ben").paths
    assert (path.up, path.civil, path.marriages, [one.id for one in path.through]) == (None, None, 2, ["SVEN", "EVA"])


def test_a_divorce_is_told(tmp_path: Path) -> None:
    """Whoever was divorced is a former husband, and his mother no mother-in-law; married again he is the husband."""
    tree = ["Per Ada >", "Ole Eva > Per", "Ada Knut > Mia", "Jon Tea >", "Jon Tea >"]
    archive = grow(tmp_path, tree, {0: "DIV", 2: "ANUL", 3: "DIV"})
    assert is_the(archive, "Per", "Ada") == "former husband"
    assert is_the(archive, "Eva", "Ada") == "former husband's mother"
    assert is_the(archive, "Per", "Mia") == "mother's former husband"
    assert is_the(archive, "Jon", "Tea") == "husband"


def test_a_marriage_that_was_withdrawn_leaves_partners_where_there_are_children(tmp_path: Path) -> None:
    """Of a couple without children nothing is left; a withdrawn parent link leads nowhere."""
    archive = grow(tmp_path, ["Per Ada > Ben", "Ole Eva >", "Ben Tea > Cia"])
    with archive.working("withdrawn") as work:
        work.update(t.family, [1, 2], withdrawn=1)
        links = work.connection.execute(t.parent_link.select()).mappings().all()
        work.update(t.parent_link, [link["id"] for link in links if link["family_id"] == 3], withdrawn=1)
    assert is_the(archive, "Ada", "Per") == "partner"
    assert is_the(archive, "Eva", "Ole") == ""
    assert is_the(archive, "Cia", "Ben") == ""
    assert is_the(archive, "Ada", "Ben") == "mother"


def test_who_died_before_the_birth_is_no_stepmother(tmp_path: Path) -> None:
    """The father's first wife, dead when the child of the second was born, is the father's wife."""
    archive = grow(tmp_path, ["Per Ada > Ben", "Per Eva > Cia"])
    assert is_the(archive, "Ada", "Cia") == "stepmother"  # no dates, no reason to say otherwise
    assert is_the(archive, "Eva", "Ben") == "stepmother"
    with archive.working("dates") as work:
        people = {row.name: row.id for row in work.connection.execute(t.person.select())}
        for name, tag, day in (("Ada", "DEAT", 680_000), ("Cia", "BIRT", 681_000), ("Ben", "BIRT", 679_000)):
            work.insert_one(t.event, person_id=people[name], tag=tag, first=day, last=day)
    assert is_the(archive, "Ada", "Cia") == "father's wife"
    assert is_the(archive, "Cia", "Ada") == "husband's daughter"
    assert is_the(archive, "Eva", "Ben") == "stepmother"


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        ("Ada", "Ben", "adoptive mother"),
        ("Ben", "Ada", "adopted son"),
        ("Cia", "Ben", "adoptive sister"),
        ("Ben", "Dina", "brother by adoption and through fostering"),
        ("Dina", "Ada", "foster daughter"),
        ("Eva", "Ben", "mother"),
        ("Mia", "Ben", "half-sister, and aunt by adoption through another line"),
        ("Gus", "Ben", "great-grandfather by adoption"),
        ("Lea", "Cia", "half first cousin"),
        ("Lea", "Ben", "half first cousin by adoption"),
    ],
)
def test_kin_by_adoption_and_fostering(tmp_path: Path, one: str, other: str, said: str) -> None:
    """What kind of link it is is said, and kin by birth stay what they are."""
    tree = [
        "Per Ada > !Ben Cia ~Dina", "Olav Eva > Ben", "Nils Tea > Per !Mia", "Gus > Nils", "Arne Eva > Mia",
        "Nils Rut > Jon", "Jon > Lea",
    ]  # fmt: skip
    assert is_the(grow(tmp_path, tree), one, other) == said


def test_double_cousins_and_several_lines(tmp_path: Path) -> None:
    """A brother and sister who married a sister and brother; their children marry, and descend from one woman twice."""
    tree = ["Per Ada > Ben Cia", "Olav Tea > Eva Sven", "Ben Eva > Ida Rita", "Sven Cia > Jon", "Ida Jon > Zoea"]
    archive = grow(tmp_path, tree)
    assert is_the(archive, "Rita", "Jon") == "double first cousin, and wife's sister"
    assert is_the(archive, "Ida", "Jon") == "wife, and double first cousin"
    assert is_the(archive, "Ada", "Zoea") == "great-grandmother twice over"
    assert is_the(archive, "Rita", "Zoea") == "aunt, and double first cousin once removed through other lines"
    path, *others = archive.people.kinship("Rita", "Jon").paths[:2]
    assert [[one.id for one in each.ancestors] for each in (path, *others)] == [["PER", "ADA"], ["OLAV", "TEA"]]


def test_cousins_of_two_degrees(tmp_path: Path) -> None:
    """Each line is told with its own degrees, the closest first."""
    tree = ["Per Ada > Ben Cia", "Gus Rut > Ada Lea", "Lea Ole > Tor", "Ben Fia > Ida", "Tor Cia > Jon"]
    found = grow(tmp_path, tree).people.kinship("Ida", "Jon")
    assert found.words == "first cousin, and second cousin through another line"
    assert [(path.up, path.down, path.civil, path.canon) for path in found.paths] == [(2, 2, 4, 2), (3, 3, 6, 3)]


def test_a_father_who_is_the_grandfather_too(tmp_path: Path) -> None:
    """What the tree says is told, whatever it is."""
    assert is_the(grow(tmp_path, ["Per Ada > Tea", "Per Tea > Ben"]), "Per", "Ben") == (
        "father, and grandfather through another line"
    )


def test_an_aunt_who_became_the_stepmother(tmp_path: Path) -> None:
    """Kin who are closer by marriage are told as both."""
    archive = grow(tmp_path, ["Gus Rut > Ada Eva", "Per Ada > Ben", "Per Eva >"])
    assert is_the(archive, "Eva", "Ben") == "aunt, and stepmother"


def test_loops_in_the_data_end(tmp_path: Path) -> None:
    """Somebody recorded as their own great-grandparent, and their own parent: an answer comes all the same."""
    archive = grow(tmp_path, ["Per > Ben", "Ben > Cia", "Cia > Per", "Per > Dag", "Eva > Eva", "Eva > Fia"])
    assert archive.people.kinship("Per", "Cia").words
    assert archive.people.kinship("Dag", "Cia").words
    assert archive.people.kinship("Eva", "Fia").words == "mother"
    assert archive.people.kinship("Fia", "Per").words == ""


def test_who_turned_out_to_be_another(tmp_path: Path) -> None:
    """Somebody outside the tree has no kin until it is known who they are; then they have that person's."""
    archive = grow(tmp_path, ["Per Ada > Ben Cia"])
    archive.people.add("The boy with the hoop")
    found = archive.people.kinship("X1", "Cia")
    assert (found.words, found.one.outside) == ("", True)
    archive.people.identify("X1", "Ben")
    assert archive.people.kinship("X1", "Cia").words == "brother"
    assert archive.people.kinship("X1", "Ben").words == "the same person"
    assert archive.people.kinship("X1", "Ben").same
    with archive.reading() as connection:
        ids = {row.code: row.id for row in connection.execute(t.person.select())}
        assert kinship.kin_of(connection, ids["CIA"], [ids["X1"], ids["BEN"], ids["CIA"]]) == {
            ids["X1"]: "her brother", ids["BEN"]: "her brother"
        }  # fmt: skip


def test_who_is_meant_must_be_clear(tmp_path: Path) -> None:
    """Names are understood as everywhere else."""
    archive = grow(tmp_path, ["Per Ada > Ben"])
    archive.people.add("Berit Holm")
    archive.people.add("Berit Holm")
    with pytest.raises(NotFoundError, match="there is nobody called 'Zacharias'"):
        archive.people.kinship("Zacharias", "Ben")
    with pytest.raises(AmbiguousError, match="2 people match 'Berit Holm'"):
        archive.people.kinship("Ben", "Berit Holm")


def test_phrases_for_a_list_of_names(tmp_path: Path) -> None:
    """Told from the proband and from whoever in the photograph is nearest; nothing of who is no kin."""
    archive = grow(tmp_path, MARRIED)
    with archive.reading() as connection:
        ids = {row.name: row.id for row in connection.execute(t.person.select())}
        who = {id_: name for name, id_ in ids.items()}

        def told(named: Sequence[str]) -> dict[str, str]:
            people = [ids[name] for name in ("Ben", "Cia", "Tea", "Una", "Knut")]
            return {
                who[id_]: text for id_, text in kinship.phrases(connection, people, [ids[n] for n in named]).items()
            }

        assert told([]) == {}
        assert told(["Knut", "Per"]) == {
            "Ben": "son of Per", "Cia": "daughter of Per", "Tea": "grandmother of Knut",
            "Una": "Per's daughter's husband's mother", "Knut": "Per's son's wife's nephew",
        }  # fmt: skip
    archive.people.choose_proband("Ben")
    with archive.reading() as connection:
        assert told(["Ben", "Bo"]) == {
            "Ben": "you, Bo's wife's brother", "Cia": "your sister, wife of Bo", "Tea": "your mother-in-law",
            "Una": "your sister's husband's mother, mother of Bo", "Knut": "your wife's nephew",
        }  # fmt: skip


def test_the_proband_is_kept_and_can_be_taken_back(tmp_path: Path) -> None:
    """Chosen, chosen anew, nobody any more; each is a change of its own, and what changes nothing is none."""
    archive = grow(tmp_path, ["Per Ada > Ben"])
    assert archive.people.proband().id is None
    assert archive.people.choose_proband(None).changed is False
    assert (archive.people.choose_proband("Ada").id, archive.people.choose_proband("ADA").changed) == ("ADA", False)
    assert archive.people.choose_proband("Ben").changed
    archive.statements.undo()
    assert archive.people.proband().id == "ADA"
    assert archive.people.choose_proband(None).changed
    assert archive.people.proband().id is None
    archive.statements.undo()
    assert archive.people.proband().name == "Ada"
    assert [change.what for change in archive.statements.history(2)][1] == "relationships are no longer shown"


def test_the_proband_stays_when_the_tree_loses_them(tmp_path: Path) -> None:
    """Like whoever has a picture, they are kept and marked as gone; who turned out to be another is that other."""
    tree = tmp_path / "tree.ged"
    head, end = "0 HEAD\n1 GEDC\n2 VERS 5.5.1\n1 CHAR UTF-8\n", "0 TRLR\n"
    tree.write_text(f"{head}0 @I1@ INDI\n1 NAME Ada /Marsh/\n0 @I2@ INDI\n1 NAME Tom /Holm/\n{end}")
    archive = Archive.create(tmp_path / "family")
    archive.tree.import_file(tree)
    archive.people.add("The boy with the hoop")
    archive.people.choose_proband("X1")
    archive.people.identify("X1", "I1")
    assert archive.people.proband().id == "I1"
    archive.people.choose_proband("I2")
    tree.write_text(f"{head}0 @I1@ INDI\n1 NAME Ada /Marsh/\n{end}")
    archive.tree.import_file(tree)
    assert (archive.people.proband().name, archive.people.proband().gone) == ("Tom Holm", True)
