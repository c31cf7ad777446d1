"""Build -> Study: every result about one build, as an immutable value; and the findings they give cause to."""

from __future__ import annotations

from gasdoc.study.study import Study, make_study

__all__ = ["Study", "make_study"]
