"""The rooms of a build: their air, their alarms, and what a leak would do in them."""
