"""How archives of older releases are upgraded: a numbered script for each change of the tables.

A change of `store/tables.py` comes with the next script in `versions/` (`0002_what_changes.py`, whose `down_revision`
is the one before) and with the new number in `tables.SCHEMA`. Scripts spell the tables out as they were at that time
and import nothing of kinphoto; a test compares what all of them together make with `tables.py`. Where SQLite must
rebuild a table, `op.batch_alter_table(..., table_kwargs={"sqlite_strict": True})` keeps it strict.
"""
