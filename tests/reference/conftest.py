"""Libraries to compare with, loaded by the tests that ask for one: they take seconds to load."""

from __future__ import annotations

import importlib
from typing import Any

import pytest


@pytest.fixture(scope="session")
def coolprop() -> Any:
    return importlib.import_module("CoolProp.CoolProp")


@pytest.fixture(scope="session")
def fluids() -> Any:
    return importlib.import_module("fluids")


@pytest.fixture(scope="session")
def pandapipes() -> Any:
    return importlib.import_module("pandapipes")
