"""How many examples a test of a property is tried with: few, and the same each time, unless pytest is told otherwise."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from hypothesis import HealthCheck, settings

LEAST = 25

# No wall clock: the machine may be busy.
settings.register_profile("full", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("quick", settings.get_profile("full"), max_examples=LEAST, derandomize=True)
settings.load_profile("quick")


def seeds(few: int, full: int) -> range:
    """As many seeds for what is drawn by chance and takes long: `full` of them with `--hypothesis-profile=full`, else the first few."""
    return range(few if settings().derandomize else full)


def tries(full: int) -> Callable[[Any], Any]:
    """As many examples with `--hypothesis-profile=full`; without it a twentieth of them, but never under 25 if there are
    as many."""
    return settings(max_examples=full if not settings().derandomize else max(min(full, LEAST), full // 20))
