"""Adapters for what leaves the archive: metadata inside files (XMP, EXIF), sheets as PDF, the pages of a site.

Nothing here knows the archive: what is written is given as plain values, already without what stays at home.
"""
