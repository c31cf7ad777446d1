"""For all tests: no test fails because the machine was slow (what is timed is measured in benchmarks)."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile("patient", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("patient")
