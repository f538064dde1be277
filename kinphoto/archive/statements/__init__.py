"""What people say: recording it, taking it back, spreadsheets, the history of changes."""
