"""Pictures for the film and the description."""
