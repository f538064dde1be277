"""What people read, found where it is written: the messages of templates, scripts and Python, and templates in another
language. English is what is written there, so in English nothing of this runs."""
