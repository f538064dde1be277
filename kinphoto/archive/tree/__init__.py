"""The family tree: importing a file, the first time or again, checking it, writing it."""
