"""The tags of a tree file: which tell of an event, and which are known but say nothing that is used here.

From GEDCOM 5.5.1, 5.5.5 and 7.0; the ones with an underscore are what programs commonly write beside them.
"""

from __future__ import annotations

PERSON_EVENTS = frozenset(
    (
        "BIRT", "CHR", "DEAT", "BURI", "CREM", "ADOP", "BAPM", "BARM", "BASM", "BLES", "CHRA", "CONF", "FCOM", "ORDN",
        "NATU", "EMIG", "IMMI", "CENS", "PROB", "WILL", "GRAD", "RETI", "EVEN", "CAST", "DSCR", "EDUC", "IDNO", "NATI",
        "OCCU", "PROP", "RELI", "RESI", "TITL", "FACT",
    )
)  # fmt: skip
FAMILY_EVENTS = frozenset(
    ("MARR", "MARB", "MARC", "MARL", "MARS", "ENGA", "DIV", "DIVF", "ANUL", "CENS", "EVEN", "RESI", "FACT")
)
DEATH = frozenset(("DEAT", "BURI", "CREM"))

IDENTIFIERS = ("UID", "_UID", "EXID", "REFN")
"""What tells somebody apart beyond one file, the best first."""

LIVING = frozenset(("RESN", "_LIVING", "_LIV"))

OUR_NOTE = "kinphoto: "
"""What a note that we wrote into the tree begins with: written anew each time, and never read as one of theirs."""

SHARED_NOTES = frozenset(("NOTE", "SNOTE"))

PASSED_OVER = frozenset(("CHAN", "CREA", "OBJE", "SOUR", "ASSO", "SUBM"))
"""What stands at level 1 and is of no use here."""

OTHER_RECORDS = frozenset(("HEAD", "SOUR", "REPO", "OBJE", "SUBM", "SUBN", "TRLR"))
"""Records that are known and say nothing of people."""

OTHER_LINES = PASSED_OVER | frozenset(
    (
        "ALIA", "ANCI", "DESI", "RFN", "AFN", "RIN", "SSN", "NCHI", "NMR", "NO", "SNOTE", "BAPL", "CONL", "ENDL",
        "INIL", "SLGC", "SLGS", "REFN", "UID", "_UID", "EXID", "NOTE", "RESN", "CONT", "CONC",
    )
)  # fmt: skip
"""What may stand at level 1 of a person or a family, is known, and says nothing that is used here."""
