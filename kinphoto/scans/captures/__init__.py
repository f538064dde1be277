"""Prints that somebody photographed instead of scanning them: the place of the print in the picture (`corners.py`), and
how it is shown as if it had been looked at from straight above (`straight.py`)."""
