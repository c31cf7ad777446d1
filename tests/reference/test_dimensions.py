"""Published dimensions of threads, and code figures for openings and connectors, against the catalogue's data."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import fast_yaml
import pytest

from gasdoc import catalog
from gasdoc.catalog.openings import passage_rule, plate
from gasdoc.catalog.stock import connector_row
from gasdoc.catalog.tubing import sizes
from gasdoc.engineering.materials.openings import opening

THREADS: dict[str, Any] = fast_yaml.read(Path(catalog.__file__).parent / "joints.yaml")["threads"]


def rows(system: str, unit: str) -> dict[str, dict[str, Any]]:
    """The rows of a system by their sizes, with lengths as plain numbers of one unit."""
    written = {row["size"]: row for row in THREADS[system]["rows"]}
    end = f" {unit}"
    return {
        size: {
            k: float(v.removesuffix(end)) if isinstance(v, str) and v.endswith(end) and "/" not in v else v
            for k, v in row.items()
        }
        for size, row in written.items()
    }


NPT, BSP, FLARE = rows("npt", "in"), rows("bsp", "mm"), rows("flare", "in")


def inches(size: str) -> float:
    return float(sum(Fraction(part) for part in size.split("-")))


# ASME B1.20.1, basic dimensions of NPT, read in two industrial data sheets (size, tpi, E1, L1, L2 in inches). One copy
# misprints L2 of 3/8 as 0.0478; the other, and 7.34 threads of 1/18 in, give 0.4078.
PUBLISHED_NPT = [
    ("1/8", 27, 0.37360, 0.162, 0.2639),
    ("1/4", 18, 0.49163, 0.228, 0.4018),
    ("3/8", 18, 0.62701, 0.240, 0.4078),
    ("1/2", 14, 0.77843, 0.320, 0.5337),
    ("3/4", 14, 0.98887, 0.339, 0.5457),
    ("1", 11.5, 1.23863, 0.400, 0.6828),
    ("1-1/4", 11.5, 1.58338, 0.420, 0.7068),
]


@pytest.mark.parametrize(("size", "tpi", "e1", "l1", "l2"), PUBLISHED_NPT)
def test_npt_rows_are_the_published_ones(size: str, tpi: float, e1: float, l1: float, l2: float) -> None:
    row = NPT[size]
    assert (row["per_inch"], row["e1"], row["hand_tight"], row["useful"]) == (tpi, e1, l1, l2)


@pytest.mark.parametrize("size", list(NPT))
def test_npt_rows_follow_the_standard_s_own_formulas(size: str) -> None:
    """ASME B1.20.1: E0 = D - (0.05 D + 1.1) p, E1 = E0 + L1 / 16, L2 = (0.80 D + 6.8) p.

    The formulas are from memory; that they give the figures of two sheets confirms them and the rows alike.
    """
    row = NPT[size]
    p = 1 / row["per_inch"]
    e0 = row["major"] - (0.05 * row["major"] + 1.1) * p
    # E1 is printed to 0.00001, and L1 to 0.001, of which a sixteenth counts: 0.000005 + 0.0005 / 16. (For 1/8 the
    # 4.36 threads of the sheet give L1 = 0.1615, printed as 0.162.)
    assert row["e1"] == pytest.approx(e0 + row["hand_tight"] / 16, abs=3.7e-5)
    assert row["useful"] == pytest.approx((0.80 * row["major"] + 6.8) * p, abs=5.1e-5)  # printed to 0.0001


def test_npt_outside_diameters_are_those_of_steel_pipe() -> None:
    # Read in a valve supplier's thread table, in inches; the rows of steel pipe carry the same.
    published = {"1/8": 0.405, "1/4": 0.540, "3/8": 0.675, "1/2": 0.840, "3/4": 1.050, "1": 1.315, "1-1/4": 1.660}
    assert {size: row["major"] for size, row in NPT.items()} == published
    for size in sizes("steel"):
        if size.id in NPT and size.outside_diameter is not None:
            assert size.outside_diameter == pytest.approx(NPT[size.id]["major"] * 0.0254, rel=1e-9)


def test_bsp_rows_are_the_published_ones() -> None:
    # ISO 228-1 as printed by a pipe-fitting supplier (threads to the inch, major diameter in mm); a valve supplier's
    # table has the same figures for 1/8, 1/4 and 3/8.
    published = {
        "1/8": (28, 9.728),
        "1/4": (19, 13.157),
        "3/8": (19, 16.662),
        "1/2": (14, 20.955),
        "3/4": (14, 26.441),
        "1": (11, 33.249),
    }
    assert {size: (row["per_inch"], row["major"]) for size, row in BSP.items()} == published


def test_npt_and_bsp_differ_in_pitch_in_four_of_six_sizes() -> None:
    """Why they must not be joined: only 1/2 and 3/4 have the same pitch, and then another form (60 and 55 degrees)."""
    assert [size for size in BSP if BSP[size]["per_inch"] == NPT[size]["per_inch"]] == ["1/2", "3/4"]


def test_flare_threads_have_the_published_pitch() -> None:
    # Two trade thread charts, 45-degree flare: thread diameter and threads to the inch. Which tube each thread serves: an
    # engine workshop manual and two foundry data sheets, of 7/8 in one of these alone.
    published = {"7/16 in": 20, "1/2 in": 20, "5/8 in": 18, "3/4 in": 16, "7/8 in": 14, "1-1/16 in": 14, "1-1/4 in": 12}
    assert {row["major"]: row["per_inch"] for row in FLARE.values()} == published
    assert [size for size, row in FLARE.items() if row.get("confirmed") == "once"] == ["7/8"]


def test_inverted_flare_threads_have_the_published_pitch() -> None:
    # The first of those charts, its row for inverted flare, by diameter.
    published = {"7/16 in": 24, "1/2 in": 20, "5/8 in": 18, "3/4 in": 18, "7/8 in": 18}
    assert {row["major"]: row["per_inch"] for row in THREADS["inverted-flare"]["rows"]} == published


def test_cutting_ring_threads_are_the_published_ones() -> None:
    # A hose maker's page on DIN 3902, tube of the light series: thread and pitch in mm; a thread chart has the same.
    published = {
        "6": "12/1.5",
        "8": "14/1.5",
        "10": "16/1.5",
        "12": "18/1.5",
        "15": "22/1.5",
        "18": "26/1.5",
        "22": "30/2",
    }
    bare = [[row[k].removesuffix(" mm") for k in ("size", "major", "pitch")] for row in THREADS["cutting-ring"]["rows"]]
    assert {tube: f"{thread}/{pitch}" for tube, thread, pitch in bare} == published


def test_gauge_and_useful_lengths_of_r_threads_are_the_published_ones() -> None:
    # ISO 7-1 as two fitting makers quote it, in mm; BS 21:1985 in inches agrees within 0.08 mm.
    published = {
        "1/8": (4.0, 6.5),
        "1/4": (6.0, 9.7),
        "3/8": (6.4, 10.1),
        "1/2": (8.2, 13.2),
        "3/4": (9.5, 14.5),
        "1": (10.4, 16.8),
    }
    assert {size: (row["hand_tight"], row["useful"]) for size, row in BSP.items()} == published


def test_a_flare_thread_is_larger_than_its_tube_and_grows_with_it() -> None:
    pairs = [(inches(size), inches(row["major"].removesuffix(" in"))) for size, row in FLARE.items()]
    assert pairs == sorted(pairs)
    for tube, thread in pairs:
        # The nut passes over the flared tube: at least 1/8 in more than the tube, and no more than 3/8 in.
        assert 0.125 <= thread - tube <= 0.375


def test_pol_is_the_published_thread() -> None:
    # CGA 510 as two encyclopaedia copies have it: .885"-14 NGO, left-hand, internal in the valve.
    (row,) = [row for row in THREADS["cylinder"] if row["kind"] == "cga-510"]
    assert row["thread"] == "0.885-14 NGO, left-hand, internal in the valve"


def test_a_sleeve_is_half_an_inch_larger_and_a_grommet_three_to_six_millimetres() -> None:
    # Corrugated tubing instructions, buried or embedded runs: sleeve at least 1/2 in larger (read once). A hole
    # with grommet: 1/8 to 1/4 in larger than the tubing (common practice).
    assert passage_rule("wall")[0].clearance == pytest.approx(0.5 * 0.0254)
    for place in ("floor", "frame", "partition", "deck"):
        hole = opening(passage_rule(place)[0], 0.5 * 0.0254, ()).hole
        assert 0.125 * 0.0254 <= hole - 0.5 * 0.0254 <= 0.25 * 0.0254 + 1e-9


def test_shield_plates_are_asked_within_an_inch_and_a_half() -> None:
    # IRC 2006 G2415.5 (404.5), read once.
    assert plate().within == pytest.approx(1.5 * 0.0254)


def test_connectors_end_at_six_feet_and_come_in_the_charted_lengths() -> None:
    # ANSI Z21.24 / CSA 6.10 scope: not exceeding 6 ft (1.83 m). Lengths of a connector capacity chart, read once.
    row = connector_row("flexible")
    assert row is not None
    assert row.longest == pytest.approx(6 * 0.3048)
    assert [round(length / 0.0254) for length in row.lengths] == [12, 18, 24, 30, 36, 48, 60, 72]
