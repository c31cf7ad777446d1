"""The leak test, filled in for a build."""

from __future__ import annotations

from typing import Any

from gasdoc.report import words
from gasdoc.study import Study

TEST_TITLES = {
    "piping": "Pressure test of the piping", "appliances": "Test with appliances connected",
    "leak-check": "Leak check with gas", "container-side": "Container side", "flow": "Pressure with burners on",
}  # fmt: skip



def view(study: Study) -> dict[str, Any]:
    """What to isolate, what the region asks, every joint."""
    tests = study.leak_test
    zones = {zone.zone.id: zone for zone in study.zones}
    return {
        "tests": tests, "zones": zones, "titles": TEST_TITLES, "pressure_kind": words.pressure_kind,
        "isolate": _isolate(study),
        "joint_groups": _joint_groups(study),
    }  # fmt: skip


def _isolate(study: Study) -> list[str]:
    """What to take off, shut and cap on this build before the pressure test."""
    spec = study.build.spec
    steps = [
        f"Shut the container valve{'s' if spec.container.number > 1 else ''} and burn off what is in the line, outdoors.",
        f"Disconnect the first regulator ({spec.regulator.outlet.text}) at its outlet: it does not see the test pressure.",
    ]
    for node in study.build.nodes:
        if node.kind == "regulator":
            steps.append(f"Take out the regulator {node.id} and test the pipe on each side of it by itself.")
    for name in study.leak_test.disconnect:
        steps.append(f"Disconnect {name} at its shut-off valve and cap the open end with a fitting; a closed valve is no cap.")
    return steps


def _joint_groups(study: Study) -> list[tuple[str, list[str]]]:
    groups: dict[str, list[str]] = {}
    for joint in study.leak_test.joints:
        groups.setdefault(joint.zone, []).append(joint.text)
    return [("Container side, at container pressure" if zone == "container side" else f"Behind {zone}", texts)
            for zone, texts in groups.items()]  # fmt: skip
