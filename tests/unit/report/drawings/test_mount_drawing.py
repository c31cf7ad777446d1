"""The mount drawn: places to one scale worked by hand, the worst bolts, and words that do not lie on one another."""

from __future__ import annotations

import re
from itertools import combinations
from typing import Any

import pytest
from made_up_builds import BOLTS, TANK, Values, build, outlet, run, study_of

from gasdoc.report.drawings.line.labels import SIZE, wide
from gasdoc.report.drawings.mount_drawing import WIDTH, MountDrawing, around, bolted, tied
from gasdoc.study import Study

ON_CHASSIS: Values = TANK | {"place": "chassis", "behind_rear_axle": "no"}
STANDING: Values = {"type": "dot-20lb", "place": "drawbar", "water_capacity": "47.6 lb"}


def study(mount: Values, container: Values | None = None, **more: Any) -> Study:
    supply = (run("5 ft", material="copper", type="k"), outlet("Oven", "20 kBtu/h"))
    return study_of(
        build(
            *supply,
            region="us-trailer",
            setting="trailer",
            container={**(container or ON_CHASSIS), "mount": mount, **more},
        )
    )


def drawn(mount: Values, container: Values | None = None) -> tuple[MountDrawing, MountDrawing]:
    made = study(mount, container)
    shape = made.container.shape
    if made.mount is not None:
        return bolted(made.mount, shape, "{:.0f} N".format, "us")
    assert made.tie is not None
    return tied(made.tie, shape, "{:.0f} N".format)


def starts(drawing: MountDrawing, style: str) -> list[tuple[float, float]]:
    """Where the paths of a style begin."""
    paths = [form.path for form in drawing.forms if form.style == style]
    return [(float(x), float(y)) for path in paths for x, y in re.findall(r"^M([-\d.]+),([-\d.]+)", path)]


def boxes(drawing: MountDrawing) -> list[tuple[float, float, float, float]]:
    found = []
    for line in drawing.lines:
        half = wide(line.text) / 2
        found.append((line.x - half, line.y - 0.8 * SIZE, line.x + half, line.y + 0.2 * SIZE))
    return found


def test_bolts_and_container_have_one_scale() -> None:
    plan, side = drawn(BOLTS)
    bolts = starts(plan, "bolt")
    assert len(bolts) == 4
    across, down = ({round(place[k], 1) for place in bolts} for k in (0, 1))
    # 34 in of container over 150 px, so 20 in are 88.2 px, and 10 in are 44.1 px
    assert max(across) - min(across) == pytest.approx(88.2, abs=0.2)
    assert max(down) - min(down) == pytest.approx(44.1, abs=0.2)
    (shell,) = (form.path for form in side.forms if form.style == "shell")
    straight, head = (float(re.findall(pattern, shell)[0]) for pattern in (r"h([\d.]+)", r"a([\d.]+)"))
    assert straight + 2 * head == pytest.approx(150, abs=0.3)
    assert head == pytest.approx(20 / 4 * 150 / 34, abs=0.1)


def test_the_bolts_on_the_other_side_of_the_worst_push_have_a_ring() -> None:
    # A push to the left (or right) turns the container over the narrow side: the two bolts behind it are pulled.
    plan, side = drawn(BOLTS)
    rings, bolts = starts(plan, "worst"), starts(plan, "bolt")
    assert len(rings) == 2
    assert len({y for _, y in rings}) == 1
    assert rings[0][1] == max(y for _, y in bolts)  # the worst push is left, drawn upwards: the lower bolts
    assert {"left", "one of 2 worst bolts"} <= {line.text for line in plan.lines if line.strong}
    assert {"up", "down", "forward", "rearward"} <= {line.text for line in side.lines}
    assert "Pushed left" in side.description


def test_bolts_in_one_line_have_no_hold() -> None:
    plan, _ = drawn(BOLTS | {"across": ["0 in"]})
    assert not starts(plan, "worst")
    assert "no hold" in plan.description
    assert "no hold" in {line.text for line in plan.lines}


@pytest.mark.parametrize("surface", ["floor", "overhead", "front-wall", "rear-wall", "left-wall", "right-wall"])
@pytest.mark.parametrize("bolts", [2, 12])
def test_words_lie_beside_one_another_on_every_surface(surface: str, bolts: int) -> None:
    places = [f"{3 * k} in" for k in range(bolts)]
    for drawing in drawn(BOLTS | {"surface": surface, "along": places, "across": places}):
        assert_apart(drawing)
        assert "up" in {line.text for line in drawing.lines} or "left" in {line.text for line in drawing.lines}


@pytest.mark.parametrize("way", ["straps", "chain", "tray", "rack"])
@pytest.mark.parametrize("container", [STANDING, ON_CHASSIS])
def test_what_holds_a_container_otherwise_is_drawn(way: str, container: Values) -> None:
    mount: Values = {"way": way, "number": "2", "rated": "500 lb", "fixed_to": "the frame"}
    for drawing in drawn(mount, container):
        assert starts(drawing, "strap")
        assert "not as measured" in drawing.description
        assert_apart(drawing)


def assert_apart(drawing: MountDrawing) -> None:
    assert len(drawing.lines) > 2
    for one in boxes(drawing):
        assert one[0] >= 0 and one[2] <= WIDTH and one[1] >= 0 and one[3] <= drawing.height
    for one, other in combinations(boxes(drawing), 2):
        assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] + 1 or other[3] <= one[1] + 1


def test_distances_are_circles_and_lines_of_one_scale() -> None:
    clearances: Values = {"relief_to_opening": "60 in", "relief_to_ignition": "12 in"}
    made = study(BOLTS, clearances=clearances)
    (drawing,) = tuple(around(made.clearances, "us"))
    # 60 in are 120 px, and 18 in are asked of both: one circle of 36 px
    (asked,) = (form.path for form in drawing.forms if form.style == "asked")
    assert re.findall(r"a([\d.]+)", asked)[0] == "36"
    assert {"opening 5 ft 0 in", "ignition 12 in", "asked 18 in"} <= {line.text for line in drawing.lines}
    assert [line.text for line in drawing.lines if line.strong] == ["ignition 12 in"]  # less than is asked
    assert_apart(drawing)
