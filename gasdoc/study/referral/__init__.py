"""Who decides: the rules of a region, and what to ask its people."""
