"""Faces in pictures: where they are, and what a face is like, by two published networks on this computer alone.

Pictures in, frames and descriptors out; no archive, no names, no ages. The networks' weights are files of two
packages of the extra `kinphoto[faces]` (`weights.py`); nothing is fetched, and of those packages nothing else is
used. Without the extra, everything here that needs it raises FacesNotInstalledError.
"""
