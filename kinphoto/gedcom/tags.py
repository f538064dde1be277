"""The tags of a tree file: those of events, and those that are known but not used here.

From GEDCOM 5.5.1, 5.5.5 and 7.0; those with an underscore are common extensions.
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
"""Identifiers that are valid beyond one file, the best first."""

LIVING = frozenset(("RESN", "_LIVING", "_LIV"))

OUR_NOTE = "kinphoto: "
"""The beginning of every note that we write into a tree: written anew each time, and never read as the family's."""

SHARED_NOTES = frozenset(("NOTE", "SNOTE"))

OTHER_RECORDS = frozenset(("HEAD", "SOUR", "REPO", "OBJE", "SUBM", "SUBN", "TRLR"))
"""Records that are known and not about people."""

OTHER_LINES = frozenset(
    (
        "CHAN", "CREA", "OBJE", "SOUR", "ASSO", "SUBM",
        "ALIA", "ANCI", "DESI", "RFN", "AFN", "RIN", "SSN", "NCHI", "NMR", "NO", "SNOTE", "BAPL", "CONL", "ENDL",
        "INIL", "SLGC", "SLGS", "REFN", "UID", "_UID", "EXID", "NOTE", "RESN", "CONT", "CONC",
    )
)  # fmt: skip
"""Tags at level 1 of a person or a family that are known and not used here."""
