"""Claims and promises made on camera, and how they stand against the record."""
