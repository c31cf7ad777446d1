"""Readings of a test become a verdict."""
