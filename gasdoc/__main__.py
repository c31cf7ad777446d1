"""`python -m gasdoc`."""

from gasdoc.cli.command import command

command()
