"""What to ask next, who a face could be, how good the estimates are."""
