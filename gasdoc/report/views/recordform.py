"""The form to record tests on, one sheet: what is asked, blanks for what is read, every joint."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from gasdoc.report.views.leaktest import TEST_TITLES, limits
from gasdoc.report.words import Quantities
from gasdoc.study import Study
from gasdoc.study.facts import system

LETTERS = 36
"""Letters of a joint's name that fit one line of a column of the printed form."""

JOINT_LINES = 54
"""Lines there is room for, in three columns; joints that take more are ticked on the leak-test page's list instead."""

LINES = 8
"""Lines for readings there is room for; each test gets two or three."""


def view(study: Study) -> dict[str, Any]:
    """The asked tests, one block of readings each, and the joints in short."""
    q = Quantities(system(study.build))
    several = len(study.zones) > 1
    order = list(TEST_TITLES)
    asked = sorted(study.leak_test.asked, key=lambda a: order.index(a.test.kind))
    rows = [
        {
            "name": a.test.name + (f", behind {a.zone}" if several else ""),
            "medium": ", ".join(a.test.medium),
            "pressure": limits(a, q) or "pressure: see its rule",
            "hold": Markup("{} or longer").format(q(float(a.test.hold), "hold"))
            if a.test.hold is not None
            else "time: ask",
            "gauge": a.test.kind != "container-side",
        }
        for a in asked
    ]
    flow = [a for a in (*study.leak_test.asked, *study.leak_test.beside) if a.test.kind == "flow"]
    joints = study.leak_test.joints
    lines = sum(1 + len(joint.text) // LETTERS for joint in joints)
    return {
        "rows": rows,
        "readings": range(3 if 3 * sum(1 for row in rows if row["gauge"]) <= LINES else 2),
        "joints": joints if lines <= JOINT_LINES else (),
        "flow": [
            (a.zone if several else "", limits(a, q)) for a in flow if a.pressure is not None or a.highest is not None
        ],
        "joint_count": len(joints),
    }
