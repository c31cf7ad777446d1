"""Openings that appliances ask for, and what a leak would do."""
