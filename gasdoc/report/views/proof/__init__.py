"""The pages of the leak test."""
