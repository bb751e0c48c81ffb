"""Footage: the only room that talks to FFmpeg."""
