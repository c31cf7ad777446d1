"""What regions ask in figures, against the texts as they were read; the text is beside each row.

The figures here are copied from what was read, not from the data files.
"""

from __future__ import annotations

import pytest

from gasdoc.regions.proof import LineTest
from gasdoc.regions.region import region
from gasdoc.regions.rules import Rule
from gasdoc.units import parse

TESTS: tuple[tuple[str, str, dict[str, str | float]], ...] = (
    # IFGC 406.4.1, 406.4.2: one and a half times, not under 3 psig; 10 min under 10 ft3; gauge to five times
    ("us-cabin", "piping-ifgc", {"minimum": "3 psi", "factor": 1.5, "hold": "10 min", "scale": 5.0}),
    # LAC 55:IX.175: the same pressure, 15 min
    ("us-cabin", "piping-louisiana", {"minimum": "3 psi", "factor": 1.5, "hold": "15 min"}),
    # WAC 296-150V-1450: 10 psi or more for 15 min, steps of a tenth of a pound
    ("us-trailer", "piping-vendor-unit", {"minimum": "10 psi", "hold": "15 min", "step": "0.1 psi"}),
    # WAC 296-150C-1460: 10 to 14 in of water for 10 min
    ("us-vehicle", "appliances-ten-to-fourteen", {"minimum": "10 inH2O", "maximum": "14 inH2O", "hold": "10 min"}),
    # 25 CCR 1362(c): 10 to 14 in of water, 2 min
    ("us-cabin", "appliances-california", {"minimum": "10 inH2O", "maximum": "14 inH2O", "hold": "2 min"}),
    # NFPA 54 annex C.3: 9 in of water, half an inch more or less, 3 min
    ("us-cabin", "leak-check-low", {"minimum": "8.5 inH2O", "maximum": "9.5 inH2O", "hold": "3 min"}),
    ("us-cabin", "leak-check-between", {"hold": "3 min"}),
    ("us-cabin", "leak-check-container", {"hold": "3 min"}),
    # The sign-off sheet for the RV certification test: 8 in of water, 3 min
    ("us-vehicle", "appliances-nfpa-1192", {"minimum": "8 inH2O", "hold": "3 min"}),
    # 46 CFR 58.16-19(a)(1): 5 psi
    ("boat-us", "piping-cfr-58", {"minimum": "5 psi"}),
    # EN 1949, summary: 150 mbar, 5 min to settle and 5 min, at most 10 mbar lost
    ("eu", "piping-en-1949", {"minimum": "150 mbar", "settle": "5 min", "hold": "5 min", "drop": "10 mbar"}),
    # DVGW G 607, a trade page: the same
    ("eu", "piping-g607", {"minimum": "150 mbar", "hold": "5 min", "drop": "10 mbar"}),
    # EN 1949, summary: leak fluid is watched for 30 s
    ("eu", "container-side-en-1949", {"hold": "30 s"}),
    # Makers of instruments on the German rules: 150 mbar for 10 min, no fall
    ("eu", "piping-building-germany", {"minimum": "150 mbar", "hold": "10 min", "drop": "0 mbar"}),
    # IGEM/UP/1B, the UK gas register: 2 min
    ("uk", "leak-check-up1b", {"hold": "2 min"}),
    # A Canadian training series on CSA B149.1: 10 min after the appliances are in
    ("canada", "leak-check-low", {"hold": "10 min"}),
    # The same: 15 psig up to 2 psi, 50 psig above
    ("canada", "piping-csa", {"minimum": "15 psi"}),
    ("canada", "piping-csa-high", {"minimum": "50 psi"}),
)

RULES: tuple[tuple[str, str, str, str], ...] = (
    ("us-vehicle", "rv-cylinder-size", "mass of water", "105 lb"),  # 24 CFR 3280.704(b)(1)
    ("us-vehicle", "inside-pressure", "pressure", "14 inH2O"),  # 24 CFR 3280.704(a)(2)
    ("us-vehicle", "hud-container-count", "number", "2"),  # 24 CFR 3280.704(b)(1)
    ("us-vehicle", "drop-mobile", "pressure", "0.5 inH2O"),  # 675 IAC 15-2-76(d)
    ("us-vehicle", "cabinet-vents-two-percent", "number", "0.01"),  # 675 IAC 15-2-74(c)(2): 2 %, half low and half high
    ("us-vehicle", "mount-load-four", "number", "4"),  # 25 CCR, commercial coaches
    ("us-trailer", "shutoff-cooking", "length", "6 ft"),  # WAC 296-150V-1440
    ("us-trailer", "shutoff-other", "length", "3 ft"),  # WAC 296-150V-1440
    ("us-cabin", "connector-length", "length", "6 ft"),  # IFGC 2018 411.1.3.1
    ("us-cabin", "support-steel-half", "length", "6 ft"),  # IFGC Table 415.1, and the three below
    ("us-cabin", "support-steel-one", "length", "8 ft"),
    ("us-cabin", "support-steel-larger", "length", "10 ft"),
    ("us-cabin", "support-tubing-half", "length", "4 ft"),  # MS 930's table, and the two below
    ("us-cabin", "support-tubing-three-quarter", "length", "6 ft"),
    ("us-cabin", "support-tubing-larger", "length", "8 ft"),
    ("us-cabin", "support-csst-half", "length", "6 ft"),  # a maker's guide of 2015, and the three below
    ("us-cabin", "support-csst-larger", "length", "8 ft"),
    ("canada", "support-csst-half", "length", "6 ft"),
    ("canada", "support-csst-larger", "length", "6 ft"),
    ("us-cabin", "air-indoors-high", "area", "100 in2"),  # IFGC 304.5.3
    ("eu", "locker-vents-en-least", "area", "100 cm2"),  # EN 1949, two summaries
    ("eu", "locker-vents-en", "number", "0.02"),
    ("eu", "support-en", "length", "500 mm"),  # a German inspector's page
    ("eu", "support-en-rigid", "length", "1000 mm"),
    ("eu", "ferry-tank", "volume", "93 L"),  # one shuttle's terms
)


def of_test(row: LineTest, what: str) -> float | None:
    pressure = row.pressure
    given = {
        "minimum": pressure.minimum,
        "maximum": pressure.maximum,
        "factor": pressure.factor,
        "settle": row.settle,
        "hold": row.hold,
        "step": row.gauge.resolution,
        "scale": row.gauge.full_scale_factor,
        "drop": row.passes.allowed_drop,
    }[what]
    return None if given is None else float(given)


@pytest.mark.parametrize(("region_id", "test_id", "read"), TESTS, ids=[f"{r}-{t}" for r, t, _ in TESTS])
def test_a_test_asks_what_its_text_says(region_id: str, test_id: str, read: dict[str, str | float]) -> None:
    row = next(test for test in region(region_id).tests if test.id == test_id)
    for what, value in read.items():
        dimension = "time" if what in ("hold", "settle") else "pressure"
        wanted = parse(value, dimension) if isinstance(value, str) else value
        assert of_test(row, what) == pytest.approx(float(wanted)), what


@pytest.mark.parametrize(("region_id", "rule_id", "dimension", "read"), RULES, ids=[f"{r}-{i}" for r, i, *_ in RULES])
def test_a_rule_limits_what_its_text_says(region_id: str, rule_id: str, dimension: str, read: str) -> None:
    row: Rule = next(rule for rule in region(region_id).rules if rule.id == rule_id)
    assert isinstance(row.limit, float)
    if dimension == "mass of water":  # one pound of water is 27.737 cubic inches (WAC 296-307-40029)
        wanted = float(read.removesuffix(" lb")) * 27.737 * 0.0254**3
    else:
        wanted = float(read) if dimension == "number" else float(parse(read, dimension))
    assert row.limit == pytest.approx(wanted, rel=1e-4)
