"""The parts of a description, one module a part, each giving lines of text or none."""
