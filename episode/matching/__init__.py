"""Matching: moments, the log, and the clocks between them."""
