"""What of a project's own files may be published, judged by what is in them, and how they leave: `judged`."""

from gasdoc.published.judging import MOST_BYTES, Fit, judged
from gasdoc.published.unfit import Size, Unfit

__all__ = ["MOST_BYTES", "Fit", "Size", "Unfit", "judged"]
