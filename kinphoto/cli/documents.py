"""What every command prints with `--json`, field by field: the words of docs/reference.md.

A test runs the commands and compares: no field may be printed that does not stand here.
"""

from __future__ import annotations

DOCUMENTS: dict[str, dict[str, str]] = {
    "init": {"archive": "the folder of the new archive"},
    "dates": {
        "photographs[].code": "the photograph's code",
        "photographs[].scans[]": "paths of its scans, the front first",
        "photographs[].earliest": "first possible day, from laws and strong or certain statements",
        "photographs[].latest": "last possible day, likewise",
        "photographs[].likely_from": "start of the shortest interval that holds 90 %; null when open",
        "photographs[].likely_to": "end of that interval; null when open",
        "photographs[].best": "the posterior median; null when open",
        "photographs[].edtf": "the date to write into metadata, qualified when inferred; null when open",
        "photographs[].state": "`dated`, `open` (only the laws speak) or `disputed` (it bears on a conflict)",
    },
    "explain": {
        "code": "the photograph's code",
        "scans[]": "paths of its scans, the front first",
        "earliest": "as in `dates`, and so are `latest`, `likely_from`, `likely_to`, `best`, `edtf` and `state`",
        "latest": "see `dates`",
        "likely_from": "see `dates`",
        "likely_to": "see `dates`",
        "best": "see `dates`",
        "edtf": "see `dates`",
        "state": "see `dates`",
        "text": "the explanation in words",
        "statements[].id": "`S12` a statement, `A7` an appearance, `E5` a date of the tree, `L9` a parent link, "
        "`M3` a marriage",
        "statements[].kind": "`appearance`, `apparent-age`, `stated-age`, `inscription`, `birth`, ...",
        "statements[].text": "the statement as a sentence",
        "statements[].trust": "`certain`, `strong`, `fair` or `weak`",
        "statements[].informant": "who said it, or null",
        "statements[].aside": "true when it is set aside because the rest does not fit with it",
        "statements[].without.earliest": "the bounds and the likely range without this statement; `without` is null "
        "for one set aside",
        "statements[].without.latest": "see above",
        "statements[].without.likely_from": "see above",
        "statements[].without.likely_to": "see above",
        "statements[].without.best": "see above",
        "laws[]": "the laws at work, in words",
        "conflicts[]": "ids of the conflicts it bears on",
    },
    "conflicts": {
        "conflicts[].id": "the conflict's id",
        "conflicts[].photographs[]": "codes of the photographs concerned",
        "conflicts[].people[]": "ids of the people concerned",
        "conflicts[].statements[].id": "the statements that cannot all be true: take any one away and the rest can",
        "conflicts[].statements[].kind": "as in `explain`",
        "conflicts[].statements[].text": "the statement as a sentence",
        "conflicts[].statements[].trust": "`certain`, `strong`, `fair` or `weak`",
        "conflicts[].aside[]": "those of them that are set aside",
        "conflicts[].ways_out[][]": "other sets that would settle this conflict, cheapest first",
        "conflicts[].tie": "true when nothing tells the best ways out apart",
        "aside[]": "the least costly set of statements whose removal settles every conflict",
        "unlikely[].photograph": "a photograph with a judged age that hardly fits",
        "unlikely[].person": "whose age",
        "unlikely[].statement": "the judgement's id",
        "unlikely[].probability": "the chance that the judgement has nothing to do with the age",
        "unlikely[].text": "the same in words",
        "expected_false_alarms": "how many of the unlikely ones are expected to be right after all",
    },
}
