"""The family tree: bringing a file in, the first time or again, checking it, writing it."""
