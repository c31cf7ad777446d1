"""The pages of the materials."""
