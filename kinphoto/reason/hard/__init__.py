"""What is possible: laws, bounds and conflicts."""
