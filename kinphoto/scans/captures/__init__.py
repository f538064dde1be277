"""Prints that somebody photographed instead of scanning them: where the print lies in the picture (`corners.py`), and
how it is shown as if it had been looked at from straight above (`straight.py`)."""
