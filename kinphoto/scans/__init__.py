"""Scans on disk: walking folders and measuring image files. Turns files into plain values and writes to none."""
