"""The full take-off of one example, specs/floating-studio.md, counted by hand from the spec with pencil and paper.

Two cylinders with a changeover regulator, a short line to a manifold in the locker, one copper line to the heater and one
to the cooker. The size of the cooker's line, 10 x 1 mm, is the sizing's answer and no subject of this count.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from gasdoc.folder.check import study_file

SPEC = Path(__file__).parent.parent.parent / "specs" / "floating-studio.md"

PIECES = {
    # Two cylinders, two inlets of the changeover: a hose each, G.12 at the cylinder, M20 x 1.5 at the regulator.
    "container:eu-11kg": 2,
    "regulator:regulator": 1,
    "g12-pigtail": 2,
    # Locker: 12 mm tube from the regulator's 12 mm outlet straight into the test point; test point and manifold both take
    # tube, so a short piece of 12 mm tube stands between them. The manifold's two taps are the two valves of the spec.
    # Its outlets are 10 mm, so that the cooker's line is not narrowed; the heater's 8 mm line goes in with a reducer.
    "test-point-compression:12": 1,
    "compression-piece:12": 1,
    "compression-manifold-2:12 x 10": 1,
    "compression-stub-reducer:8 x 10": 1,
    # Heater: a valve in the 8 mm line; its tail is 8 mm tube from the valve into the heater's own 8 mm compression.
    "valve-compression:8": 1,
    # Cooker: a valve in the 10 mm line; a tube stub with a left-hand male thread at each end of the hose, 10 mm into the
    # valve and 8 mm into the cooker.
    "valve-compression:10": 1,
    "hose-lh 0.75 m": 1,
    "stub-hose-lh:10": 1,
    "stub-hose-lh:8": 1,
    # A support sleeve in each end of soft tube. 12 mm: both ends of the line, both of the short piece. 8 mm: reducer to
    # bulkhead, bulkhead to valve, valve to heater, two ends each. 10 mm: manifold to bulkhead, bulkhead to valve; the
    # hose's stubs are solid.
    "support-sleeve:12x1": 4,
    "support-sleeve:8x1": 6,
    "support-sleeve:10x1": 4,
    # Passages: each line through the locker's bulkhead by a bulkhead fitting of its size, then the heater's through two
    # frames and the cooker's through three. A grommet in each frame, bored 1/16 in (1.6 mm) over the tube and sold in whole
    # millimetres: 9.6 -> 10 and 11.6 -> 12. No plate: there is no stud behind whose face a nail could find the tube.
    "compression-bulkhead:8": 1,
    "compression-bulkhead:10": 1,
    "grommet:10 mm": 2,
    "grommet:12 mm": 3,
    # Clips at most 500 mm apart (EN 1949; closer than the 24 in of something that moves), one at the start, one at each bend and
    # one at the end; so many gaps on each straight length that none is longer, legs of one direction being one length.
    # Locker 0.2, 0.1, 0.2 m: 1 + 1 + 1 gaps. Heater 0.3, 1.6, 0.2, 2.4, 0.4, 0.3 m: 1 + 4 + 1 + 5 + 1 + 1. Cooker 0.3, 4.0,
    # 0.4, 1.3, 0.2, 0.4, 0.8 m: 1 + 8 + 1 + 3 + 1 + 1 + 2. One clip more than gaps.
    "clamp:12 mm": 4,
    "clamp:8 mm": 14,
    "clamp:10 mm": 18,
    "outlet-bracket": 2,
    # No taper thread anywhere, so no sealant. A label for the shut-off and one an appliance; for the test the two lines are
    # closed at their valves by a cap of their size, and the 12 mm line where the regulator came off; the region asks for
    # two tests that are read on a gauge. The bulkhead is sealed on both faces, and a sign stands at the container. A
    # restraint only where the cooker is slid out.
    "passage-sealant": 1,
    "gas-sign": 1,
    "moving-restraint Cooker": 1,
    "leak-fluid": 1,
    "label:shut-off": 1,
    "label:outlet": 2,
    "compression-cap:12": 1,
    "compression-cap:8": 1,
    "compression-cap:10": 1,
    "gauge:piping-iso-10239": 1,
    "gauge:leak-check-lockup": 1,
    # Besides the line, as the spec states it. Two straps round each of two cylinders; the regulator on a bracket; the
    # locker's vents (3.8 cm2 is shown as 4), its drain and a gasket for its lid; the cabin's two vents; the heater's
    # room-sealed flue; three alarms with the standards on them; what every boat with a cooker has: two extinguishers and a
    # fire blanket; what every build has in Europe: a frame for the sheet on the door, and a hose from pump to line. Only
    # where the parts bought have none: a non-return valve for each cylinder, and a bubble indicator.
    "non-return-valve": 2,
    "bubble-indicator": 1,
    "container-strap 250 kg 300 mm": 4,
    "regulator-bracket": 1,
    "locker-vent-high 60 cm2": 1,
    "locker-vent-low 4 cm2": 1,
    "locker-drain 22 mm": 1,
    "locker-seal": 1,
    "louvre-high 75 cm2": 1,
    "louvre-low 72 cm2": 1,
    "flue-sealed Heater": 1,
    "alarm-gas EN 50194-2 low voltage": 1,
    "alarm-co EN 50291-2 its own battery": 1,
    "alarm-smoke EN 14604 its own battery": 1,
    "extinguisher": 2,
    "fire-blanket": 1,
    "door-frame": 1,
    "test-pump-hose": 1,
}

METRES = {
    # Length + 10 % + 6 in (0.1524 m) a piece. 8 mm: the heater's 5.2 m and its tail of 0.3 m, two pieces.
    "copper-metric 12x1": 0.5 * 1.1 + 0.1524,
    "copper-metric 8x1": (5.2 + 0.3) * 1.1 + 2 * 0.1524,
    "copper-metric 10x1": 7.4 * 1.1 + 0.1524,
}

COILS = {"copper-metric 12x1 5 m": 1, "copper-metric 8x1 10 m": 1, "copper-metric 10x1 10 m": 1}
"""0.70 m from 5 m; 6.35 m and 8.29 m from 10 m each: nothing shorter holds them."""


def test_the_take_off_is_the_one_counted_by_hand() -> None:
    made = study_file(SPEC).study
    assert made is not None
    assert {i.key: i.quantity for i in made.materials if not i.measured} == PIECES
    assert {i.key: i.quantity for i in made.materials if i.measured} == pytest.approx(METRES)
    bought = {line.key: line.packs for line in made.shopping.lines if line.group == "tubing"}
    assert bought == COILS
