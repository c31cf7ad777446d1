"""The gasdoc command."""
