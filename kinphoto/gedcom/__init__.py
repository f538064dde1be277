"""The family tree as a file: bytes to lines, lines to people, and the dates people write."""
