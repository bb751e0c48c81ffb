"""Cutting: where each piece of the finished film came from, and times moved across it."""
