"""The command line: parsing of arguments and printing, nothing else. One file per group of commands."""
