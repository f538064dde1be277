"""Dates in, dates out. Pure: no files, no database, no clock, no printing; imports nothing else of kinphoto."""
