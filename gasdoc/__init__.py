"""gasdoc: one text file per propane build becomes a site of install reports."""

__version__ = "0.1.0"
