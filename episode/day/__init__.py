"""The day folder: settings, log, clips and decisions, read and judged."""
