"""What to ask, whom a face could be, how good the estimates are."""
