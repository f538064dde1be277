"""What to ask and whom a face could be: names that are offered, questions, guesses."""
