"""When photographs were taken: from rows to evidence, estimates kept and fresh, and why they are so."""
