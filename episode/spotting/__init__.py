"""Spotting: which words name a find, and what the speaker does with it."""
