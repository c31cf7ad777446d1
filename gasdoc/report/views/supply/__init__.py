"""The page of the supply."""
