"""What is kept from build to build changes nothing: other parts, prices or limits are another question."""

from __future__ import annotations

import dataclasses
import math
import sys
from pathlib import Path

import pytest
from changed_data import changed_files
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from properties import tries

from gasdoc import units
from gasdoc.catalog.parts import Catalogue, catalogue, with_own
from gasdoc.engineering.constants import DAY
from gasdoc.engineering.container.burning import Period
from gasdoc.engineering.container.cold_day import Setup, shortage, simulate, simulate_changeover
from gasdoc.engineering.container.vessel import of_capacity, wetted_area, wetting
from gasdoc.engineering.materials import joints
from gasdoc.engineering.materials.assembly import _turns
from gasdoc.engineering.materials.ends import End, text
from gasdoc.engineering.materials.joints import Chain, Constraints, NoChain, Part, Shelf
from gasdoc.engineering.materials.written_ends import parse_end
from gasdoc.engineering.supply import lpg
from gasdoc.engineering.supply.lpg import Fuel
from gasdoc.kept import kept_result
from gasdoc.source import Citation
from gasdoc.study.materials.assembly import joining

ENDS = sorted({end for part in catalogue().of_use("fitting") for end in part.ends}, key=text)
LIMITS = (
    Constraints(),
    Constraints(concealed=True),
    Constraints(no_bushing_stack=False),
    Constraints(6.9e4),
    Constraints(8.6e5),
    Constraints(1.72e6, container_side=True),
)
GAP = (parse_end("1/2 FNPT", "female"), parse_end("Rc 1/2", "female"))


def adapter(part_id: str, rating: float | None = 1.7e6) -> Part:
    """What closes the gap, which no listed part does."""
    ends = (parse_end("1/2 MNPT", "male"), parse_end("1/2 male BSPT", "male"))
    return Part(part_id, "an adapter", "adapter", "fitting", ends, rating, True, True)


AMERICA = ("north-american",)
"""Where no listed part leads from NPT to a British thread."""


def own(*parts: Part) -> Catalogue:
    return Catalogue(parts, {part.id: Citation("its maker's sheet") for part in parts})


def names(found: Chain | NoChain) -> tuple[str, ...] | str:
    return tuple(part.id for part in found.parts) if isinstance(found, Chain) else found.reason


def test_two_catalogues_share_no_chain() -> None:
    listed, extended = (c.sold_in(AMERICA) for c in (catalogue(), with_own(own(adapter("own-adapter:1/2")))))
    assert names(joining(listed, ()).join(*GAP)) == "no-chain"
    assert names(joining(extended, ()).join(*GAP)) == ("own-adapter:1/2",)
    assert names(joining(listed, ()).join(*GAP)) == "no-chain"


def test_catalogues_of_the_same_ids_are_told_apart_by_their_parts() -> None:
    strong, weak = (with_own(own(adapter("own-adapter:1/2", rating))).sold_in(AMERICA) for rating in (1.7e6, 3.4e4))
    assert hash(strong) == hash(weak) and strong != weak
    limits = Constraints(1.0e6)
    assert names(joining(strong, ()).join(*GAP, limits)) == ("own-adapter:1/2",)
    assert names(joining(weak, ()).join(*GAP, limits)) == "under-rated"


def test_one_catalogue_is_searched_once_for_all_its_builds() -> None:
    mine = own(adapter("own-adapter:1/2"))
    assert with_own(mine) is with_own(mine)
    assert joining(with_own(mine), (("own-adapter:1/2", 3.0),)) is joining(with_own(mine), (("own-adapter:1/2", 3.0),))


def test_two_price_lists_share_no_chain() -> None:
    both = with_own(own(adapter("first:1/2"), adapter("second:1/2")))
    for cheap, dear in (("first:1/2", "second:1/2"), ("second:1/2", "first:1/2")):
        chain = joining(both, ((cheap, 2.0), (dear, 5.0))).join(*GAP)
        assert names(chain) == (cheap,) and isinstance(chain, Chain) and chain.cost == 2.0


@tries(60)
@given(
    st.lists(st.tuples(st.sampled_from(ENDS), st.sampled_from(ENDS), st.sampled_from(LIMITS)), min_size=1, max_size=6)
)
def test_what_was_asked_before_does_not_change_an_answer(asked: list[tuple[End, End, Constraints]]) -> None:
    used, a_few = joining(catalogue(), ()), Shelf(catalogue().of_use("fitting"))
    for a, b, limits in asked:
        kept = used.join(a, b, limits)
        assert kept == a_few.join(a, b, limits)
        assert used.effort(a, b, limits, 2) == Shelf(a_few.parts).effort(a, b, limits, 2)


def test_a_shelf_that_kept_too_much_begins_anew_and_answers_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = Shelf(catalogue().of_use("fitting"))
    before = [names(plain.join(a, ENDS[0])) for a in ENDS[:12]]
    monkeypatch.setattr(joints, "MOST_SEARCHES", 3)
    small = Shelf(catalogue().of_use("fitting"))
    for a, expected in zip(ENDS[:12], before, strict=True):
        assert names(small.join(a, ENDS[0])) == expected
        assert len(small._searches) <= 3 and len(small._alike) <= 3


def test_a_part_is_turned_with_its_own_ratings() -> None:
    """Ends are equal whatever they are rated for, so that what is kept of one part must not be given for another."""
    tee = next(part for part in catalogue().of_use("branch") if part.shape == "tee" and len(part.ends) == 3)
    rated = replace(tee, ends=tuple(dataclasses.replace(end, rating=1234.0) for end in tee.ends))
    for part in (tee, rated):
        turned = _turns(part, 3)
        assert turned and {end.rating for ends in turned for end in ends} == {end.rating for end in part.ends}


def test_a_text_is_read_by_what_the_field_wants() -> None:
    assert units.parse("10 kBtu/h", "power", "mass flow").dimension == "power"
    for _ in range(2):  # a refusal is not kept
        with pytest.raises(units.UnitError):
            units.parse("10 kBtu/h", "mass flow")
    assert units.parse("10 kBtu/h", "power").text == "10 kBtu/h"


@pytest.mark.parametrize("of", [lpg.saturation_absolute, lpg.latent_heat, lpg.liquid_density])
@pytest.mark.parametrize("temperature", [230.0, 255.37, 288.71, 310.0])
def test_pure_propane_is_where_mixtures_end(of: object, temperature: float) -> None:
    almost = Fuel(math.nextafter(1.0, 0.0))
    assert callable(of)
    assert of(Fuel(1.0), temperature) == pytest.approx(of(almost, temperature), rel=1e-12)


def test_the_skin_wetted_is_the_same_asked_one_way_or_the_other() -> None:
    for vessel in (of_capacity(0.108, 0.37, "upright"), of_capacity(0.5, 0.6, "horizontal")):
        wetted = wetting(vessel)
        for share in (-0.1, 0.0, 0.013, 0.2, 0.5, 0.8, 1.0, 1.2):
            assert wetted(share * vessel.volume) == wetted_area(vessel, share * vessel.volume)


@tries(40)
@given(
    st.floats(2.0, 45.0),
    st.floats(235.0, 290.0),
    st.sampled_from([1.0, 0.7]),
    st.floats(500.0, 15e3),
    st.floats(0.0, 70e3),
    st.integers(1, 3),
)
def test_a_day_cut_off_at_its_first_shortage_tells_the_same_shortage(
    mass: float, air: float, propane: float, load: float, begin: float, number: int
) -> None:
    start = Setup(of_capacity(0.108, 0.37, "upright"), 15.0, 32.0, mass, Fuel(propane), air, 1.7e5, 1.0e5)
    use = (Period(begin, begin + 14e3, load), Period(0.0, DAY, 200.0))
    whole, cut = simulate(start, use), simulate(start, use, until_short=True)
    assert (cut.short_from, cut.reason) == (whole.short_from, whole.reason)
    if whole.enough:
        assert cut == whole
    last = simulate_changeover(start, use, number)[-1]
    quick = shortage(start, use, number, sample=600.0)
    assert quick == (None if last.enough else (last.short_from, last.reason))


def test_what_follows_from_gasdoc_alone_is_kept_until_a_file_of_it_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "pycache_prefix", str(tmp_path))
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    times: list[None] = []

    def worked_out() -> tuple[int, Citation]:
        times.append(None)
        return len(times), Citation("a sheet")

    assert kept_result(worked_out)() == kept_result(worked_out)() == (1, Citation("a sheet"))
    with changed_files(
        "gasdoc.catalog", {}, tmp_path / "data"
    ):  # for the others nothing is kept of what follows from these
        assert kept_result(worked_out)() == (2, Citation("a sheet"))
    assert kept_result(worked_out)() == (1, Citation("a sheet"))
    monkeypatch.setattr("gasdoc.kept.mark", lambda folder: f"{folder} has changed")
    assert kept_result(worked_out)() == (3, Citation("a sheet"))
    monkeypatch.setattr("pydantic_core.__version__", "another")
    assert kept_result(worked_out)() == (4, Citation("a sheet"))
