"""Recordings of what was told: what a file is, a lossless copy of it, and a copy without what it says of itself."""
