"""What of a project's own files may be published, judged by what is in them, and how they leave: `judged`."""

from gasdoc.published.judging import MOST_BYTES, Publishable, judged
from gasdoc.published.sizes import Copy, copies, made
from gasdoc.published.unfit import PictureSize, Unfit

__all__ = ["MOST_BYTES", "Copy", "PictureSize", "Publishable", "Unfit", "copies", "judged", "made"]
