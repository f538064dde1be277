"""What everybody looks things up with: codes, names, lives, places, words that are understood."""
