"""Every sentence about a statement; dates, lists of laws and ways out in words."""
