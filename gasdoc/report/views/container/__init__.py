"""The page of the container."""
