"""What the reasoner is told and answers, and the densities it reckons with."""
