"""Faces that were searched for: turned on by the keeper, frames offered, faces compared, all erased by one switch.

What a network found is an offer beside others, never a statement: it is kept in a file of its own
(`store/face_file.py`), and gets into the archive only where a person accepts or names it.
"""
