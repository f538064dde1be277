"""Rows: tables, sessions and migrations. Knows no GEDCOM, no pixels, no HTTP."""
