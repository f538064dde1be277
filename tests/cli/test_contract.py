"""Every command on an archive of 3,000 people and 2,000 photographs: words for people, one document for scripts."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from commands import run_command
from making import make_family, make_scans, write_gedcom, write_links

from kinphoto.archive.sample import source
from kinphoto.cli.documents import documents
from kinphoto.phrases import counted

DOCUMENTS = documents()


class Terminal:
    """Runs kinphoto as its users do: a process of its own, in the archive's folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def run(self, *words: str, fails: int = 0) -> str:
        """Standard output; with `fails`, the exit status expected and standard error."""
        done = run_command(self.folder, *words)
        assert done.returncode == fails, done.stderr
        assert "Traceback" not in done.stderr
        if fails:
            assert len(done.stderr.strip().splitlines()) == 1 or fails == 2
            return done.stderr
        return done.stdout

    def document(self, *words: str) -> Any:
        """What a command prints with --json, each field of which must be described."""
        found = json.loads(self.run(*words, "--json"))
        command = next(name for name in sorted(DOCUMENTS, key=len, reverse=True) if " ".join(words).startswith(name))
        undescribed = {f for f in fields(found) if f not in DOCUMENTS[command]}
        assert not undescribed, f"{command} prints {sorted(undescribed)}, which docs/reference.md does not describe"
        return found


def fields(document: Any, path: str = "") -> set[str]:
    """The paths of all leaves: `photographs[].code`."""
    if isinstance(document, dict):
        return {f for k, v in document.items() for f in fields(v, f"{path}.{k}" if path else k)}
    if isinstance(document, list):
        return {f for v in document for f in fields(v, f"{path}[]")}
    return set() if document is None else {path}


@pytest.fixture(scope="module")
def truth(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The archive's folder and what is true in it."""
    folder = tmp_path_factory.mktemp("large")
    everybody, homes = make_family(3000, seed=11)
    write_gedcom(folder / "tree.ged", everybody, homes)
    scans = make_scans(folder / "scans", 2000, seed=12)
    days = write_links(folder / "links.csv", scans, homes, seed=13)
    return {"folder": folder, "people": everybody, "homes": homes, "scans": scans, "days": days}


@pytest.fixture(scope="module")
def terminal(truth: dict[str, Any]) -> Terminal:
    """The archive, filled."""
    maker = Terminal(truth["folder"])
    assert maker.document("init", "archive")["archive"]
    terminal = Terminal(truth["folder"] / "archive")
    tree = terminal.document("tree", "import", "../tree.ged")
    assert tree["people"] == len(truth["people"])
    assert tree["families"] == len(truth["homes"])
    added = terminal.document("scans", "add", "../scans")
    assert (added["seen"], added["added"], added["unreadable"]) == (2000, 2000, [])
    linked = terminal.document("link", "--from", "../links.csv")
    assert linked["rejected"] == []
    return terminal


def test_adding_scans_again_adds_nothing(terminal: Terminal) -> None:
    """Twice is the same as once."""
    again = terminal.document("scans", "add", "../scans")
    assert (again["added"], again["changed"], again["unchanged"]) == (0, 0, 2000)


def test_importing_the_tree_again_changes_nothing(terminal: Terminal) -> None:
    """The unchanged tree adds, changes and removes nobody and leaves no line in the log."""
    before = terminal.document("log")
    again = terminal.document("tree", "import", "../tree.ged")
    assert (again["added"], again["changed"], again["removed"]) == (0, 0, 0)
    assert terminal.document("log") == before


def test_every_photograph_has_an_estimate(terminal: Terminal, truth: dict[str, Any]) -> None:
    """Dates for all; the true day lies between earliest and latest wherever nothing is disputed."""
    found = terminal.document("dates")["photographs"]
    assert len(found) == 2000
    days = {str(path): day for path, day in truth["days"].items()}
    from datetime import date

    inside = likely = 0
    for photograph in found:
        day = date.fromordinal(days[photograph["scans"][0]]).isoformat()
        if photograph["state"] == "open":
            assert photograph["best"] is None
            continue
        assert photograph["state"] == "dated"  # everything in the spreadsheet is true
        inside += 1
        assert photograph["earliest"] <= day <= photograph["latest"]
        likely += photograph["likely_from"] <= day <= photograph["likely_to"]
    assert inside > 1500
    assert 0.84 < likely / inside < 0.97  # nine in ten, as the method promises


def test_explain_in_words_and_as_json(terminal: Terminal) -> None:
    """The explanation calls an inferred date inferred and gives each statement its part."""
    found = terminal.document("explain", "K00001")
    assert "(worked out)" in found["text"]
    assert {s["kind"] for s in found["statements"]} >= {"appearance", "apparent-age", "birth"}
    assert found["text"] in terminal.run("explain", "K00001", "--all")
    told = terminal.run("explain", "K00001")
    assert 1 <= len(found["clues"]) <= 5
    assert all(clue["text"] in told and clue["effect"] in told for clue in found["clues"])
    in_clues = {s for clue in found["clues"] for s in clue["statements"]}
    others = len(found["statements"]) - len(in_clues)
    assert (counted(others, "other changes", "others change") in told) == (others > 0)


def test_nothing_is_set_aside_where_all_is_true(terminal: Terminal) -> None:
    """No conflict is invented."""
    found = terminal.document("conflicts")
    assert found["conflicts"] == []
    assert found["aside"] == []


def test_a_mistake_is_found_and_undone(terminal: Terminal) -> None:
    """A postmark before everybody's birth does not fit; taken back, all fits again."""
    terminal.run("state", "K00001", "postmark", "1 JAN 1841", "--by", "Aunt Elin")
    found = terminal.document("conflicts")
    assert len(found["conflicts"]) == 1
    assert "K00001" in found["conflicts"][0]["photographs"]
    assert "do not fit" in terminal.run("conflicts") or "cannot all be true" in terminal.run("conflicts")
    assert terminal.document("dates", "K00001")["photographs"][0]["state"] == "disputed"
    terminal.run("undo")
    assert terminal.document("conflicts")["conflicts"] == []


def test_a_conflict_settled_and_what_was_withdrawn_reinstated(terminal: Terminal) -> None:
    """By the way the command prints; the conflict is there again, under its id, when the statement stands again."""
    stated = terminal.document("state", "K00008", "postmark", "1 JAN 1841", "--by", "Aunt Elin")
    (conflict,) = terminal.document("conflicts")["conflicts"]
    way = conflict["ways"][0]
    assert f"kinphoto settle {conflict['id']} a" in terminal.run("conflicts")
    done = terminal.document("settle", conflict["id"], "a")
    assert [each["statement"] for each in done["withdrawn"]] == way["statements"] == [stated["statement"]]
    assert "any more" in terminal.run("settle", conflict["id"], *way["statements"], fails=1)
    assert terminal.document("reinstate", stated["statement"])["changed"]
    assert [c["id"] for c in terminal.document("conflicts")["conflicts"]] == [conflict["id"]]
    assert terminal.document("withdraw", stated["statement"])["cautions"] == []
    assert terminal.document("conflicts")["conflicts"] == []


def test_pictures_and_people(terminal: Terminal, truth: dict[str, Any]) -> None:
    """Everybody can be found by name and year, and their pictures come in order of the best date."""
    somebody = truth["homes"][3].mother
    found = terminal.document("people", f"{somebody.name} {somebody.surname}")["people"]
    assert f"I{somebody.number}" in {p["id"] for p in found}
    pictures = terminal.document("pictures", f"I{somebody.number}", "--descendants")
    best = [p["best"] for p in pictures["photographs"] if p["best"]]
    assert best
    assert best == sorted(best)


def test_looking_around(terminal: Terminal, truth: dict[str, Any]) -> None:
    """One photograph in full, couples, words, and lists that combine."""
    home = truth["homes"][3]
    mother = f"{home.mother.name} {home.mother.surname}"
    shown = terminal.document("show", "K00001")["photograph"]
    assert (shown["code"], len(shown["scans"])) == ("K00001", 1)
    listed = next(one for one in terminal.document("list")["photographs"] if one["code"] == "K00001")
    assert {face["person"] for face in shown["faces"]} >= {who["id"] for who in listed["people"]}
    assert 1 <= len(shown["why"]) <= 3
    assert terminal.document("show", f"I{home.mother.number}")["person"]["id"] == f"I{home.mother.number}"
    assert len(terminal.document("families")["families"]) == len(truth["homes"])
    assert f"I{home.mother.number}" in {one["id"] for one in terminal.document("find", mother)["people"]}
    everything = terminal.document("list")["photographs"]
    assert len(everything) == 2000
    undated = {one["code"] for one in everything if one["state"] == "open"}
    assert {one["code"] for one in terminal.document("list", "--undated")["photographs"]} == undated
    assert terminal.run("list", "--csv").count("\n") == 2001


def test_a_photograph_removed_and_left_out(terminal: Terminal) -> None:
    """It is asked first, left out when its folder is indexed again, and undone."""
    assert "removing K00012 would also remove" in terminal.run("remove", "K00012", fails=1)
    done = terminal.document("remove", "K00012", "--with-statements")
    assert (done["removed"][0]["photograph"], done["removed"][0]["whole"]) == ("K00012", True)
    again = terminal.document("scans", "add", "../scans")
    assert (again["added"], [one["photograph"] for one in again["left_out"]]) == (0, ["K00012"])
    assert "was removed" in terminal.run("show", "K00012", fails=1)
    assert terminal.document("undo")["change"] == done["change"]
    assert terminal.document("show", "K00012")["photograph"]["code"] == "K00012"


def test_records_of_every_kind(terminal: Terminal) -> None:
    """The recording commands, each with its JSON."""
    assert terminal.document("people", "add", "Jon Tveit", "--born", "ABT 1890")
    assert terminal.document("link", "K00002", "Jon Tveit", "--age", "about 30", "--by", "Aunt Elin")["changed"]
    assert not terminal.document("link", "K00002", "Jon Tveit", "--age", "about 30", "--by", "Aunt Elin")["changed"]
    assert terminal.document("process", "K00002", "gelatin-silver")["statement"].startswith("S")
    assert terminal.document("format", "K00002", "deckle-edge")["changed"]
    assert terminal.document("relate", "K00002", "same-occasion", "K00003")["changed"]
    assert terminal.document("describe", "K00002", "--title", "At the light")["given"] == {"title": "At the light"}
    assert terminal.document("informant", "Aunt Elin", "--note", "rings on Sundays")["note"]
    assert terminal.document("scans", "join", "K00004", "K00005", "--side", "verso")["aliases"] == ["K00005"]
    assert terminal.document("scans", "part", "box_01/print_0005.jpg")["photograph"] == "K00005"
    assert terminal.document("withdraw", "A1")["changed"]
    assert terminal.document("undo")["what"].startswith("withdrew A1")
    assert terminal.document("log")["changes"][0]["what"].startswith("undid")


def test_containers_informants_and_the_log(terminal: Terminal) -> None:
    """What is arranged by hand, who told it, and the log read on from a number."""
    assert terminal.document("container", "place", "Blue album", "K00009", "K00010")["made"]
    assert terminal.document("container", "order", "Blue album", "K00010")["photographs"] == ["K00010"]
    assert terminal.document("container", "rename", "Blue album", "Green album")["name"] == "Green album"
    assert terminal.document("container", "nest", "Green album", "Tin trunk")["inside"] == "Tin trunk"
    boxes = {each["name"]: each for each in terminal.document("container", "list")["containers"]}
    assert (boxes["Green album"]["photographs"], boxes["Green album"]["depth"]) == (2, 1)
    assert "cannot go into" in terminal.run("container", "nest", "Tin trunk", "Green album", fails=1)
    assert terminal.document("container", "nest", "Green album")["inside"] is None
    assert terminal.document("container", "in-order", "Green album")["arrangement"] == "in-order"
    assert terminal.document("container", "in-order", "Green album", "--backwards")["arrangement"] == "backwards"
    assert terminal.document("container", "in-order", "Green album", "--not")["arrangement"] == "not-in-order"
    assert "contradict" in terminal.run("container", "in-order", "Green album", "--not", "--backwards", fails=1)
    assert terminal.document("container", "in-order", "Green album", "--unknown")["arrangement"] is None
    assert terminal.document("informant", "Aunt Elin", "--rename", "Great-aunt Elin")["changed"]
    assert "Great-aunt Elin" in {each["name"] for each in terminal.document("informants")["informants"]}
    newest = terminal.document("log", "--most", "2")["changes"]
    older = terminal.document("log", "--most", "1", "--before", str(newest[1]["number"]))["changes"]
    assert newest[1]["number"] > older[0]["number"]


def test_a_spreadsheet_with_a_bad_row_changes_nothing(terminal: Terminal, tmp_path: Path) -> None:
    """All or nothing, unless --keep-going is given; rows are named by their line."""
    sheet = tmp_path / "links.csv"
    sheet.write_text("photo;person;age_from\nK00006;I1;300\nK00007;I2;30\n", encoding="utf-8-sig")
    before = terminal.document("log")["changes"][0]
    problem = terminal.run("link", "--from", str(sheet), fails=1)
    assert "line 2" in problem
    assert terminal.document("log")["changes"][0] == before
    done = terminal.document("link", "--from", str(sheet), "--keep-going")
    assert done["applied"] == 1
    assert [r["line"] for r in done["rejected"]] == [2]


def test_every_command_on_the_sample(tmp_path: Path) -> None:
    """The invented family's archive answers each command of the main job, as JSON with described fields only."""
    Terminal(tmp_path).run("demo", "sample")
    terminal = Terminal(tmp_path / "sample")
    for words in (
        ("tree", "import", str(source() / "family.ged")),
        ("scans", "add", "scans"),
        ("dates",),
        ("dates", "K00009", "box-1/ferry_0003.jpg"),
        ("explain", "K00011"),
        ("conflicts",),
        ("pictures", "Clemence Ombry", "--ancestors", "--descendants", "--from", "1900", "--to", "1950"),
        ("pictures", "I13", "--with", "I8"),
        ("kin", "I17", "I24"),
        ("proband", "I68"),
        ("show", "K00009"),
        ("show", "Biscuit tin"),
        ("find", "ferry"),
        ("list", "--box", "Biscuit tin", "--year", "1930s"),
        ("families", "Ambrose and Johanna"),
        ("state", "K00009", "--event", "wedding of Ambrose and Johanna"),
        ("undo",),
        ("replace", "K00047", "K00048"),
        ("undo",),
        ("remove", "K00047", "--with-statements"),
        ("undo",),
        ("people", "quillern 1890"),
        ("people", "add", "The Postman", "--born", "BET 1860 AND 1870"),
        ("link", "--from", str(source() / "links.csv")),
        ("state", "--from", str(source() / "statements.csv")),
        ("relate", "--from", str(source() / "relations.csv")),
        ("describe", "--from", str(source() / "objects.csv")),
        ("process", "K00009", "gelatin-silver"),
        ("format", "K00009", "real-photo-postcard"),
        ("undo",),
        ("log",),
        ("scans", "where"),
        ("scans", "where", ".", "."),
        ("keep", "backup", str(tmp_path / "disk")),
        ("keep", "restore", str(tmp_path / "disk"), str(tmp_path / "restored")),
        ("keep", "bag", str(tmp_path / "packages")),
        ("keep", "verify"),
        ("keep", "state"),
    ):
        assert terminal.document(*words)
    assert len(terminal.document("conflicts")["aside"]) == 4  # all of it again changes nothing
