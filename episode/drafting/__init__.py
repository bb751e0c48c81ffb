"""Drafting: chapters, description, lists and cautions."""
