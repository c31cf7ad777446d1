"""What the parts on offer cover: every cell is there, and what stays open is known by name."""

from __future__ import annotations

from gasdoc.regions.materials import permission
from gasdoc.regions.region import region, region_ids
from gasdoc.study.materials.coverage import coverage

CORRUGATED_IN_EUROPE = {("boat-eu", "csst"), ("eu", "csst"), ("uk", "csst")}
"""The listed corrugated tubing is the American one, and its fittings have NPT. In Europe it is to be asked about."""


def test_every_region_and_setting_has_cells_for_each_connection_that_is_met_there() -> None:
    cells = coverage()
    found = {(cell.region, cell.setting) for cell in cells}
    assert found == {(name, setting) for name in region_ids() for setting in region(name).settings}
    assert {c.connection for c in cells if (c.region, c.setting) == ("eu", "cabin")} == {
        "KLF", "GF", "French screw", "POL", "G.1",
    }  # fmt: skip
    assert {c.connection for c in cells if c.region == "au-nz"} == {"LCC27", "POL"}
    assert len({(c.region, c.setting, c.material, c.connection) for c in cells}) == len(cells)
    assert not any(c.material in ("pe", "steel") for c in cells if c.setting == "boat")


def test_nothing_that_a_region_forbids_is_covered_and_what_it_asks_about_says_so() -> None:
    for cell in coverage():
        here = region(cell.region)
        answers = {
            said.answer
            for kind in (None, "L", "K", "A", "B", "schedule 40")
            if (said := permission(cell.material, kind, here.practice, cell.setting)) is not None
        }
        assert answers - {"never"}
        assert cell.ask is None or "ask" in answers


def test_every_joint_closes_but_those_of_american_corrugated_tubing_in_europe() -> None:
    holes = {(cell.region, cell.material) for cell in coverage() if cell.open}
    assert holes == CORRUGATED_IN_EUROPE
    # Two lines: regulator to trunk, trunk to test point, that to the tee; for each of two appliances tee to line, line to
    # valve, valve to tail, tail to inlet. And the cylinder itself.
    assert min(cell.joints for cell in coverage()) == 2 * (3 + 2 * 4) + 1
