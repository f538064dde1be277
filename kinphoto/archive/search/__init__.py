"""Finding, listing and showing what is in the archive."""
