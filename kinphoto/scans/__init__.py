"""Scans as they lie on disk: walking folders, measuring image files. Turns files into plain values, writes to none."""
