"""The supply of a build: zones, sizes, pressures, and what is left of them."""
