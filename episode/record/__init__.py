"""The record: published facts with their sources, and what date language means in years."""
