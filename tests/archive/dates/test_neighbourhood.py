"""What bears on one photograph, found without reading the rest of the archive."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import permutations
from pathlib import Path

import networkx
import pytest
from building import archive_with
from making import make_family, make_scans, write_gedcom, write_links
from sqlalchemy import Connection, delete, select, update

from kinphoto.archive import Archive
from kinphoto.archive.dates.evidence import gather, gather_reached, withdrawn_of
from kinphoto.archive.dates.neighbourhood import reach
from kinphoto.archive.dates.rows import HeldRows, hold_rows, rows_now
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.reason.dating import date_without
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.focus import focus
from kinphoto.reason.model.walk import UNBOUNDED, Bound
from kinphoto.store import tables as t

FAR = UNBOUNDED
"""No bound at all for what is tried here."""


def both_views(archive: Archive) -> dict[str, tuple[ev.Evidence, ev.Evidence]]:
    """For each photograph what bears on it, picked from the whole archive and from its neighbourhood."""
    with archive.reading() as connection:
        whole = gather(connection)
        ids = {code: i for i, code in connection.execute(select(t.photograph.c.id, t.photograph.c.code))}
        return {
            code: (focus(whole, code), focus(gather_reached(reach(connection, i, FAR)), code))
            for code, i in ids.items()
        }


def test_the_sample(shared_sample: Archive) -> None:
    """For every photograph of the sample the neighbourhood holds what the whole archive holds, and dates it alike."""
    for code, (whole, near) in both_views(shared_sample).items():
        assert replace(near, from_containers={}) == replace(whole, containers=()), code
        assert date_without(replace(near, from_containers={}), code).estimate == date_without(whole, code).estimate


def test_what_ties_a_photograph_to_others(tmp_path: Path) -> None:
    """Both ends of a relation are tied, also where the other end is beyond what is looked at."""
    archive = archive_with(tmp_path, photographs=3)
    archive.statements.relate(Tie(photograph="K1", relation="before", other="K2"))
    with archive.reading() as connection:
        assert reach(connection, 1).tied() == {1, 2}
        assert reach(connection, 2, Bound(photographs=1)).tied() == {2}
        assert reach(connection, 3).tied() == set()


def tangled(folder: Path, seed: int) -> Archive:
    """A family of 150 in 40 photographs, half of its births unknown or vague, and many ties between pictures."""
    dice = random.Random(seed)
    archive = Archive.create(folder / "archive")
    everybody, homes = make_family(150, seed)
    write_gedcom(folder / "tree.ged", everybody, homes)
    archive.tree.import_file(folder / "tree.ged")
    scans = make_scans(folder / "scans", 40, seed)
    archive.scans.add([folder / "scans"])
    write_links(folder / "links.csv", scans, homes, seed)
    archive.statements.apply_spreadsheet("links", folder / "links.csv", keep_going=True)
    _more(archive, dice, len(homes))
    with archive.working("made births vague") as work:
        births = list(work.connection.scalars(select(t.event.c.id).where(t.event.c.tag == "BIRT")))
        unknown, vague = dice.sample(births, len(births) // 4), dice.sample(births, len(births) // 4)
        work.connection.execute(
            update(t.event).where(t.event.c.id.in_(vague)).values(last=t.event.c.first + 9 * 365, first=t.event.c.first)
        )
        work.connection.execute(delete(t.event).where(t.event.c.id.in_(unknown)))
    return archive


def _more(archive: Archive, dice: random.Random, homes: int) -> None:
    """Relations, events and somebody outside the tree."""

    def photo() -> str:
        return f"K{dice.randrange(1, 41)}"

    for kind in ("before", "same-occasion", "same-strip", "copy-of", "part-of") * 2:
        one, other = dice.sample(range(1, 41), 2)
        archive.statements.relate(Tie(photograph=f"K{one}", relation=kind, other=f"K{other}"))
    for _ in range(4):
        archive.statements.record(
            NewClaim(photograph=photo(), kind="event", date=f"F{dice.randrange(1, homes + 1)}:MARR")
        )
        archive.statements.record(NewClaim(photograph=photo(), kind="event", date=f"I{dice.randrange(1, 151)}:BIRT"))
        for told in ("before I{} was born", "when I{} was about seven"):
            words = told.format(dice.randrange(1, 151))
            archive.statements.record(NewClaim(photograph=photo(), kind="recollection", date=words))
    archive.statements.add_informant("Aunt Elin", person="I3")
    archive.people.add("Jon Tveit")
    archive.statements.record(NewClaim(photograph=photo(), kind="taken", date="before X1 was born"))
    archive.statements.link(Link(photograph=photo(), person="X1", by="Aunt Elin"))
    archive.statements.link(Link(photograph=photo(), person="X1"))
    archive.people.identify("X1", f"I{dice.randrange(1, 151)}")


@pytest.mark.parametrize("seed", [1, 2, 17, 32])
def test_tangled_archives(tmp_path: Path, seed: int) -> None:
    """The same where vague births, weddings, copies and orders tie many photographs together."""
    views = both_views(tangled(tmp_path, seed))
    assert max(len(whole.photographs) for whole, _ in views.values()) > 3
    for code, (whole, near) in views.items():
        assert near == whole, code


def test_what_was_printed_together(tmp_path: Path) -> None:
    """Prints of one container with one printed month are reached from each other, and those of another month, with a
    year alone, with a doubtful date, or in another container are not."""
    archive = archive_with(tmp_path, photographs=8)
    archive.photographs.move([f"K{code}" for code in range(1, 7)], "Green tin")
    archive.photographs.move(["K7"], "Trunk")
    dates = {1: "JUL 1961", 2: "JUL 1961", 3: "JUL 1961", 4: "AUG 1961", 5: "1961", 6: "JUL 1961?", 7: "JUL 1961"}
    said = {
        code: archive.statements.record(NewClaim(photograph=f"K{code}", kind="printed", date=when))[0]
        for code, when in dates.items()
    }
    views = both_views(archive)
    for code, (whole, near) in views.items():
        assert near == whole, code
    assert {p.id for p in views["K00001"][1].photographs} == {"K00001", "K00002", "K00003"}
    assert all(len(views[f"K0000{code}"][1].photographs) == 1 for code in range(4, 8))
    archive.statements.withdraw(said[3].statement)
    assert {p.id for p in both_views(archive)["K00001"][1].photographs} == {"K00001", "K00002"}


def everything_near(connection: Connection, one: int, bound: Bound) -> tuple[object, ...]:
    """All that the rows near a photograph are asked for."""
    near = reach(connection, one, bound)
    found = near.found.photographs, near.people, near.cut, near.tied()
    return *found, gather_reached(near), withdrawn_of(near)


@pytest.mark.parametrize("bound", [FAR, Bound(photographs=3, people=20)])
def test_rows_in_memory(tmp_path: Path, bound: Bound) -> None:
    """Rows that are held in memory are those that the database gives, of everything near and up to a bound."""
    archive = tangled(tmp_path, seed=2)
    archive.statements.withdraw("S1")
    archive.statements.withdraw("A3")
    with archive.reading() as connection:
        ids = list(connection.scalars(select(t.photograph.c.id)))
        asked = {one: everything_near(connection, one, bound) for one in ids}
        hold_rows(connection)
        assert isinstance(rows_now(connection), HeldRows)
        assert {one: everything_near(connection, one, bound) for one in ids} == asked


def test_rows_in_memory_after_a_change(tmp_path: Path) -> None:
    """What was changed since the rows were read is seen, also when it is undone."""
    archive = archive_with(tmp_path, photographs=3)
    with archive.reading() as connection:
        hold_rows(connection)
    archive.statements.relate(Tie(photograph="K1", relation="before", other="K2"))
    with archive.reading() as connection:
        assert reach(connection, 1).tied() == {1, 2}
        hold_rows(connection)
    archive.statements.undo()
    with archive.reading() as connection:
        assert reach(connection, 1).tied() == set()


Thing = tuple[str, str]
_Event = ev.EventClaim | ev.RelativeDate


def touched(said: ev.Statement, seen: dict[str, ev.Appearance]) -> set[Thing]:
    """The photographs, people and events that a statement is about."""
    about = seen.get(said.appearance, said) if isinstance(said, ev.Age) else said
    photographs = {getattr(about, name, None) for name in ("photograph", "other")}
    if isinstance(about, ev.Relation) and about.related is ev.Related.PART_OF:
        photographs = {about.photograph}
    people = {getattr(about, name, None) for name in ("person", "child", "parent")} | {*getattr(about, "spouses", ())}
    events = {about.event} if isinstance(about, ev.Marriage | ev.EventDate | _Event) else set[str]()
    people |= {event.split(":")[0] for event in events if event.endswith((":BIRT", ":DEAT"))}
    kinds = (("photograph", photographs), ("person", people), ("event", events))
    return {(kind, name) for kind, names in kinds for name in names if name}


def closures(evidence: ev.Evidence) -> dict[str, set[str]]:
    """The ids of the statements that can bear on each photograph, as paths in a graph (NetworkX): whatever shares a
    statement is an edge apart. A known birth is a wall. From within a family it is only touched, which leads nowhere;
    from a picture or an event that is shown it is entered, which leads to its family, but to no other picture."""
    seen = {s.id: s for s in evidence.statements if isinstance(s, ev.Appearance)}
    about = {s.id: touched(s, seen) for s in evidence.statements}
    shown = {("event", s.event) for s in evidence.statements if isinstance(s, _Event)}
    births = [s for s in evidence.statements if isinstance(s, ev.LifeDate) and s.event is ev.LifeEvent.BIRTH]
    spans = [(("person", s.person), s.date.span.first, s.date.span.last) for s in births]
    walls = {who for who, first, last in spans if first and last and last - first <= 366}
    graph = networkx.DiGraph()
    for one, other in {pair for things in about.values() for pair in permutations(things, 2)}:
        if one not in walls:
            entered = one[0] == "photograph" or one in shown or other not in walls
            graph.add_edge(("entered", one), ("entered" if entered else "touched", other))
        elif other[0] != "photograph":
            graph.add_edge(("entered", one), ("touched", other))
    found = {}
    for code in (x.id for x in evidence.photographs):
        start: tuple[str, Thing] = ("entered", ("photograph", code))
        graph.add_node(start)
        reached = {thing for _, thing in networkx.descendants(graph, start) | {start}}
        found[code] = {name for name, things in about.items() if things and things <= reached}
    return found


@pytest.mark.parametrize("seed", [3, 8, 21])
def test_both_sources_against_a_plain_closure(tmp_path: Path, seed: int) -> None:
    """The walk through evidence in memory and the one from row to row reach what NetworkX does by the rules alone."""
    archive = tangled(tmp_path, seed)
    with archive.reading() as connection:
        expected = closures(gather(connection))
    for code, views in both_views(archive).items():
        assert [{s.id for s in view.statements} for view in views] == [expected[code]] * 2, code


def test_a_bound(tmp_path: Path) -> None:
    """Where more hangs together than there is room for, the nearest come first; what is said of it is all there."""
    archive = tangled(tmp_path, seed=1)
    with archive.reading() as connection:
        ids = list(connection.scalars(select(t.photograph.c.id)))
        for one in ids:
            wide, narrow = (reach(connection, one, Bound(most, 30)).found.photographs for most in (100, 3))
            assert narrow[0] == wide[0] == one
            assert len(narrow) == min(len(wide), 3)
            said = select(t.statement.c.id).where(t.statement.c.photograph_id == one, t.statement.c.appearance_id > 0)
            near = {s.id for s in gather_reached(reach(connection, one, Bound(3, 30))).statements}
            assert near >= {f"S{i}" for i in connection.scalars(said)}
            assert near <= {s.id for s in gather(connection).statements}
