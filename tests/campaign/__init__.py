"""Campaigns: programs that ask for harm and say what came of it. Run by name, not by pytest."""
