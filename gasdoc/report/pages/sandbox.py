"""The Jinja environment for a project's own templates, which are text to publish and no programs.

Jinja's sandbox hides what is private and lets nothing be changed; but what is handed to templates by MkDocs can write files
and hand out an environment without a sandbox. So only what is ours, or as plain as a word or a list, may be called.
"""

from __future__ import annotations

import types
from functools import partial
from typing import Any

from jinja2 import Environment
from jinja2.sandbox import ImmutableSandboxedEnvironment

_CALLABLE = (
    "builtins",
    "datetime",
    "markupsafe",
    "jinja2.runtime",  # macros, loops, blocks
    "jinja2.sandbox",  # its range
    "jinja2.utils",  # what Jinja gives every template: cycler, joiner, namespace, lipsum
    *(f"gasdoc.{place}" for place in ("catalog", "engineering", "regions", "report", "source", "study", "units")),
)


class Sandbox(ImmutableSandboxedEnvironment):
    """Jinja's sandbox, in which only what templates of gasdoc need may be called."""

    def is_safe_callable(self, obj: Any) -> bool:
        """Whether a template may call this."""
        while isinstance(obj, partial):
            obj = obj.func
        module = _module(obj)
        known = any(module == place or module.startswith(f"{place}.") for place in _CALLABLE)
        return known and super().is_safe_callable(obj)


def _module(called: Any) -> str:
    """Where something that is called comes from: for a method, where the thing comes from that has it. Empty for what is
    written in C and belongs to nothing (eval, open): no template needs one."""
    if isinstance(called, types.MethodType | types.BuiltinMethodType):
        owner = called.__self__
        return "" if isinstance(owner, types.ModuleType | Environment) else _module_of_type(owner)
    if isinstance(called, type):
        return called.__module__ if called.__module__ != "builtins" or called is dict else ""
    return str(called.__module__) if isinstance(called, types.FunctionType) else _module_of_type(called)


def _module_of_type(thing: object) -> str:
    return type(thing).__module__
