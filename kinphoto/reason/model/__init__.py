"""Evidence, findings, and every density."""
