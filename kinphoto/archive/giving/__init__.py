"""What is given away: which photographs and words may go to an audience, and the outputs made of them alone."""
