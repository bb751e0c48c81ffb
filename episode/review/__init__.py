"""Review: the page on which a person looks, and decides."""
