"""The connections a spec states: what their text means, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Iterator

from gasdoc.build.model import Outlet, Regulator
from gasdoc.build.reader import Build
from gasdoc.engineering.materials.ends import End, EndError
from gasdoc.engineering.materials.written_ends import leaves_gender_open, parse_end
from gasdoc.source import Path, Problem, Severity


def usual_end(text: str) -> End:
    """The end that text on an appliance or regulator means: a flare that leaves it open is male, every other thread female.
    Raises EndError."""
    end = parse_end(text, "female")
    return parse_end(text, "male") if end.kind == "flare" else end


def thread_problems(build: Build) -> Iterator[Problem]:
    """Every connection of the spec whose text means no end, or several."""
    for at, text, on_container in _threads(build):
        try:
            parse_end(text, "female", on_container=on_container)
        except EndError as wrong:
            yield build.problem(at, Severity.ERROR, wrong.message, wrong.hint, "spec-thread")
            continue
        if not on_container and leaves_gender_open(text):
            message = f"'{text}' may be male or female"
            hint = f"write 'male {text}' or 'female {text}'. A male one with a flat seal is as usual as a female one"
            yield build.problem(at, Severity.ERROR, message, hint, "spec-thread")


def _threads(build: Build) -> Iterator[tuple[Path, str, bool]]:
    spec = build.spec
    if spec.container.connection is not None:
        yield ("container", "connection"), spec.container.connection, True
    regulators: list[tuple[Path, Regulator]] = [(("regulator",), spec.regulator)]
    regulators += [(node.at, part) for node, part in build.each(Regulator)]
    for at, regulator in regulators:
        for key in ("inlet_thread", "outlet_thread"):
            text = getattr(regulator, key)
            if text is not None:
                yield (*at, key), text, False
    for node in build.nodes:
        if isinstance(node.part, Outlet) and node.part.appliance.inlet_thread is not None:
            yield (*node.at, "appliance", "inlet_thread"), node.part.appliance.inlet_thread, False
