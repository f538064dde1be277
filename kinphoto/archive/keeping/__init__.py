"""Keeping the archive: copies elsewhere, packages for the far future, and whether the scans are what they were."""
