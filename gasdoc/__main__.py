"""`python -m gasdoc`."""

from gasdoc.cli import command

command()
