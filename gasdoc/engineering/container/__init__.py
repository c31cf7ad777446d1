"""The container: its shape, its vapour, its cold day, how long it lasts, what holds it."""
