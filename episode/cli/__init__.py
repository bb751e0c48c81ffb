"""The command line: nothing but doors."""
