"""People: their lives, kin, pictures, births and couples."""
