"""One file per page: its routes, what it asks of the archive, and what it shows."""
