"""What can be read in two ways is asked back, and what people write is taken for what they mean."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from made_up_builds import Values, build, found, outlet, run, study_of, try_study

from gasdoc import units
from gasdoc.build.reader import read_spec
from gasdoc.build.starter import starter
from gasdoc.regions.region import region, region_ids
from gasdoc.study.findings import Finding
from gasdoc.units import UnitError, parse

BTU_H = 1055.05585262 / 3600
INH2O = 249.08891


# --- thousands ------------------------------------------------------------------------------------------------------


def told(spec: dict[str, Any]) -> list[str]:
    return [f"{p.message}; {p.hint}" for p in try_study(spec)[1]]


def findings(spec: dict[str, Any], code: str) -> list[Finding]:
    return found(study_of(spec), code)


@pytest.mark.parametrize("written", ["3.000 m", "1.524 m", "12.500 ft"])
def test_an_altitude_with_one_group_of_three_behind_a_point_is_asked_back(written: str) -> None:
    number = written.split(maxsplit=1)[0].replace(".", "")
    (text,) = told(build(run("9 ft", material="copper", type="k"), outlet("Heater", "30 kBtu/h"), altitude=written))
    assert text.startswith(f"'{written}' may be ")
    assert f"{number} {written.split()[1]}" in text


def test_the_answer_that_is_offered_is_taken() -> None:
    for answer in ("3 m", "3000 m", "3,000 m", "1.5240 m"):
        assert (
            told(build(run("9 ft", material="copper", type="k"), outlet("Heater", "30 kBtu/h"), altitude=answer)) == []
        )


def test_a_length_that_would_be_usual_as_thousands_is_asked_back() -> None:
    (text,) = told(build(run("9.400 mm", material="copper", type="k"), outlet("Heater", "30 kBtu/h")))
    assert text == (
        "'9.400 mm' may be 9.4 mm or 9400 mm: a point before three digits is read both ways; write '9.4 mm' or '9400 mm'"
    )


@pytest.mark.parametrize("written", ["1.250 m", "9.125 ft", "0.750 m", "1,250 mm", "1.625 in"])
def test_a_length_that_can_mean_one_thing_only_is_taken(written: str) -> None:
    assert told(build(run("9 ft", material="copper", type="k"), run(written), outlet("Heater", "30 kBtu/h"))) == []


@pytest.mark.parametrize(
    ("text", "dimension", "most", "readings"),
    [
        ("12.700 mm", "length", 1.0, None),  # a bolt: 12.7 m is none
        ("0.125 in", "length", 25.0, None),
        ("24.000 Btu/h", "power", 2.5e5, ("24 Btu/h", "24000 Btu/h")),  # 24,000 Btu/h are 7 kW
        ("24.000 kBtu/h", "power", 2.5e5, None),  # 24,000 kBtu/h are 7 MW
        ("30,000 Btu/h", "power", 2.5e5, None),
        ("30,000 kBtu/h", "power", 2.5e5, ("30 kBtu/h", "30000 kBtu/h")),
        ("1,500 m", "length", 25.0, ("1.5 m", "1500 m")),  # a decimal comma
        ("1,234,567 mm", "length", 25.0, None),
        ("1.5 m", "length", 9000.0, None),
        ("1.500e3 mm", "length", 25.0, None),
    ],
)
def test_which_numbers_have_another_reading(
    text: str, dimension: str, most: float, readings: tuple[str, str] | None
) -> None:
    assert units.other_reading(parse(text, dimension), most) == readings


def test_points_as_thousands_are_refused_with_the_number_to_write() -> None:
    for text, hint in [("1.234.567 mm", "write 1,234,567"), ("1.234,5 mm", "write 1,234.5")]:
        with pytest.raises(UnitError) as raised:
            parse(text, "length")
        assert raised.value.hint == hint


# --- units as people write them -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        ("9 ft.", "length", 9 * 0.3048),
        ("17 lbs.", "mass", 17 * 0.45359237),
        ("11 WC", "pressure", 11 * INH2O),
        ("11 inches water column", "pressure", 11 * INH2O),
        ('11" water column', "pressure", 11 * INH2O),
        ("42K BTU/hr", "power", 42_000 * BTU_H),
        ("42 k Btu/h", "power", 42_000 * BTU_H),
        ("42,000 Btu per hour", "power", 42_000 * BTU_H),
        # A gallon of liquid propane is 4.24 lb: 1.6 x 4.24 x 0.45359237 / 3600 kg/s.
        ("1.6 gal/h", "mass flow", 1.6 * 4.24 * 0.45359237 / 3600),
    ],
)
def test_a_unit_is_taken_as_plates_and_people_write_it(text: str, dimension: str, si: float) -> None:
    assert parse(text, dimension) == pytest.approx(si, rel=1e-9)


@pytest.mark.parametrize("text", ["42k", "42 K", "3 mPa", "3 kft", "3 kbar", "2 mW", "3 dm", "42 MBtu/h"])
def test_no_hint_names_a_unit_of_another_size(text: str) -> None:
    wanted = ("length", "pressure", "power", "mass flow")
    with pytest.raises(UnitError) as raised:
        parse(text, *wanted)
    assert "did you mean" not in raised.value.hint


def test_a_bare_thousand_is_asked_for_its_unit() -> None:
    with pytest.raises(UnitError) as raised:
        parse("42k", "power", "mass flow")
    assert (
        str(raised.value)
        == "'42k' has no unit. The k says a thousand; write the unit behind it, such as kBtu/h or lb/h"
    )


def test_a_generator_in_gallons_an_hour_burns_what_its_gallons_hold() -> None:
    # 1.6 gal/h x 4.24 lb/gal = 6.784 lb/h; at 21,548 Btu/lb (2,516 Btu/ft3 over 0.11676 lb/ft3) that is 146 kBtu/h.
    made = study_of(build(run("3 ft", material="copper", type="k"), outlet("Generator", "1.6 gal/h", kind="generator")))
    assert made.load == pytest.approx(146e3 * BTU_H, rel=0.01)


def test_gallons_of_a_mixture_are_doubted() -> None:
    spec = build(
        run("3 ft", material="copper", type="k"),
        outlet("Generator", "1 gal/h", kind="generator"),
        gas={"propane": "60 %", "butane": "40 %"},
    )
    assert [f.subject for f in findings(spec, "gallons-of-a-mixture")] == ["generator"]


# --- what cannot be -------------------------------------------------------------------------------------------------


def test_a_run_is_no_shorter_than_its_rise() -> None:
    (text,) = told(
        build(run("300 mm", material="copper", type="k", bends="0", rise="-0.4 m"), outlet("Heater", "30 kBtu/h"))
    )
    assert text == (
        "this run is 300 mm long, and its ends are 0.4 m apart in height; "
        "a run is at least as long as it rises or falls: check both, and their units"
    )
    assert told(build(run("0.4 m", material="copper", type="k", rise="0.4 m"), outlet("Heater", "30 kBtu/h"))) == []


@pytest.mark.parametrize(
    ("coldest", "altitude", "taken"),
    [
        # 30 degC at sea level, 6.5 K less for each 1,000 m: 10.5 degC at 3,000 m.
        ("25 degC", "3000 m", False),
        ("10 degC", "3000 m", True),
        ("11 degC", "3000 m", False),
        ("-25 degC", "3000 m", True),
        ("25 degC", "0 m", True),
        ("31 degC", None, False),
    ],
)
def test_a_coldest_air_that_no_place_at_that_height_has_is_asked_back(
    coldest: str, altitude: str | None, taken: bool
) -> None:
    more: Values = {} if altitude is None else {"altitude": altitude}
    said = told(build(run("9 ft", material="copper", type="k"), outlet("Heater", "30 kBtu/h"), coldest=coldest, **more))
    assert (said == []) is taken
    assert taken or f"as in '-{coldest}'" in said[0]


def test_a_warm_coldest_air_is_doubted() -> None:
    def warm(coldest: str) -> list[Finding]:
        return findings(
            build(run("9 ft", material="copper", type="k"), outlet("Heater", "30 kBtu/h"), coldest=coldest),
            "coldest-warm",
        )

    assert warm("14 degC") == []
    assert "'20 degC' or '-20 degC'" in warm("20 degC")[0].remedy


def test_a_day_has_24_hours() -> None:
    (text,) = told(build(run("9 ft", material="copper", type="k"), outlet("Heater", "30 kBtu/h", daily_use="26 h")))
    assert text == "'26 h' is longer than a day; write the hours at full input on one day, at most 24 h"
    assert told(build(run("9 ft", material="copper", type="k"), outlet("Heater", "30 kBtu/h", daily_use="24 h"))) == []


def test_an_input_that_no_such_appliance_has_is_an_error_told_first() -> None:
    # A light of 38 kg/h is one of 38 g/h: 0.53 kW. A thousand times that is far past any light.
    spec = build(run("9 ft", material="copper", type="k"), outlet("Light", "38 kg/h", kind="light"))
    said = study_of(spec).findings[0]
    assert said.code == "input-far-off" and str(said.severity) == "error" and "38 kg/h" in said.message


@pytest.mark.parametrize(
    ("inlet", "outlet_", "told_"),
    [
        ("1/2 NPT", "1/4 NPT", True),
        ("1/4 NPT", "1/2 NPT", False),
        ("POL", "1/4 NPT", False),
        ("1/2 NPT", "1/2 NPT", False),
    ],
)
def test_a_regulator_with_the_larger_thread_at_its_inlet_is_doubted(inlet: str, outlet_: str, told_: bool) -> None:
    threads = {"inlet_thread": inlet, "outlet_thread": outlet_}
    spec = build(run("9 ft", material="copper", type="k"), outlet("Heater", "30 kBtu/h"), regulator=threads)
    assert bool(findings(spec, "regulator-threads-swapped")) is told_


# --- words of other trades and countries ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "word", "meant"),
    [("kind", "furnace", "room-heater"), ("flue", "direct-vent", "room-sealed"), ("flue", "vent-free", "flueless")],
)
def test_a_word_of_the_trade_is_understood_as_ours(key: str, word: str, meant: str) -> None:
    of = study_of(build(run("9 ft", material="copper", type="k"), outlet("Heater", "30 kBtu/h", **{key: word})))
    assert [getattr(served.outlet.appliance, key) for served in of.served] == [meant]


@pytest.mark.parametrize(
    ("key", "word", "meant"),
    [("kind", "heating", "room-heater"), ("flue", "sealed", "room-sealed"), ("flue", "none", "flueless")],
)
def test_a_word_of_more_than_one_meaning_is_asked_back(key: str, word: str, meant: str) -> None:
    (text,) = told(build(run("9 ft", material="copper", type="k"), outlet("Heater", "30 kBtu/h", **{key: word})))
    assert f"did you mean '{meant}'?" in text


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("boat-uk", "boat-eu"),
        ("england", "uk"),
        ("de", "eu"),
        ("us-boat", "boat-us"),
        ("nz", "au-nz"),
        ("us-cabn", "us-cabin"),
    ],
)
def test_a_region_leads_to_one_of_the_same_country(word: str, meant: str) -> None:
    (text,) = told(build(run("9 ft", material="copper", type="k"), outlet("Heater", "30 kBtu/h"), region=word))
    assert text.endswith(f"did you mean '{meant}'?")


def test_a_metric_size_leads_to_metric_copper_before_its_type_is_asked() -> None:
    (text,) = told(build(run("9 ft", "15 x 1 mm", material="copper"), outlet("Heater", "30 kBtu/h")))
    assert text.endswith("write 'material: copper-metric' and leave the type out")


# --- empty is left out ----------------------------------------------------------------------------------------------


def test_an_empty_key_that_may_be_left_out_is_one_left_out() -> None:
    full = build(
        run("9 ft", material="copper", type="k", bends=None, through=None, outside=None),
        outlet("Heater", "30 kBtu/h", listed_for=None),
    )
    assert told(full) == []
    assert [f.code for f in findings(full, "bends-not-stated")] == ["bends-not-stated"]


def test_what_is_stated_of_a_route_is_not_missed() -> None:
    whole = build(
        run("9 ft", material="copper", type="k", bends="0", rise="0 ft", through=[], outside="no"),
        outlet("Heater", "30 kBtu/h"),
    )
    assert not findings(whole, "bends-not-stated")
    assert not findings(whole, "route-not-stated")
    partly = build(
        run("9 ft", material="copper", type="k", bends="0", rise="0 ft", outside="no"), outlet("Heater", "30 kBtu/h")
    )
    assert [f.message for f in findings(partly, "route-not-stated")] == [
        "Left out and taken as none: 'through' of the run."
    ]


@pytest.mark.parametrize("name", ["us-cabin", "eu"])
def test_a_fresh_file_asks_for_what_it_cannot_do_without_and_no_more(name: str) -> None:
    said = read_spec(starter("x", "X", name, region(name).units).encode(), "x.md", "x").problems
    wanted = {"length", "name", "kind", "input"}
    assert {re.findall(r"'(\w+)' is empty", p.message)[0] for p in said} == wanted
    assert len(said) == 9


# --- units of the region --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "unit"), [("au-nz", "kPa"), ("us-cabin", "kBtu/h"), ("eu", "mbar")])
def test_a_spec_without_units_prints_those_of_its_region(name: str, unit: str) -> None:
    spec = build(
        run("30 ft", "1/4 in nominal", material="copper", type="k"), outlet("Heater", "90 kBtu/h"), region=name
    )
    del spec["units"]
    (undersized,) = findings(spec, "run-undersized")
    assert f" {unit} " in undersized.message


# --- slips in a fresh file ------------------------------------------------------------------------------------------

_EMPTY = re.compile(r"^(\s*(?:- )*[\w-]+):\s*(#.*)?$")
_SLIPS: dict[str, Callable[[str], str | None]] = {
    "tab": lambda line: "\t" + line.lstrip(" ") if line.startswith(" ") else None,
    "no blank": lambda line: _EMPTY.sub(r"\1:9 ft", line),
    "colon": lambda line: _EMPTY.sub(r"\1: Under floor: left", line),
    "bracket": lambda line: _EMPTY.sub(r"\1: [wall, floor", line),
    "brace": lambda line: _EMPTY.sub(r"\1: {a: 1", line),
    "quote": lambda line: _EMPTY.sub(r'\1: "text', line),
}


def _starters() -> dict[str, str]:
    """The starters of all regions that differ by more than the region's name."""
    made = {starter("x", "X", r, region(r).units).replace(f"region: {r}", "region: uk"): r for r in region_ids()}
    return {r: text for text, r in made.items()}


@pytest.mark.parametrize("slip", list(_SLIPS))
@pytest.mark.parametrize("text", list(_starters().values()), ids=list(_starters()))
def test_a_slip_in_any_line_of_a_fresh_file_is_told_at_that_line(text: str, slip: str) -> None:
    lines = text.split("\n")
    tried = 0
    for i in range(1, lines.index("---", 1)):
        new = None if lines[i].lstrip().startswith("#") else _SLIPS[slip](lines[i])
        if new is None or new == lines[i]:
            continue
        tried += 1
        said = read_spec("\n".join([*lines[:i], new, *lines[i + 1 :]]).encode(), "x.md", "x").problems
        assert i + 1 in {p.line for p in said}, (new, [str(p) for p in said])
        assert {p.line for p in said if p.code == "yaml-syntax"} <= {i + 1}, (new, [str(p) for p in said])
    assert tried > 70


@pytest.mark.parametrize("blanks", [1, -1])
@pytest.mark.parametrize("text", list(_starters().values()), ids=list(_starters()))
def test_a_wrong_indent_in_a_fresh_file_is_told_where_taking_the_advice_helps(text: str, blanks: int) -> None:
    lines = text.split("\n")
    whole = {str(p) for p in read_spec(text.encode(), "x.md", "x").problems}
    tried = 0
    for i in range(1, lines.index("---", 1)):
        if not re.match(r"\s+\w", lines[i]):
            continue
        tried += 1
        broken = [*lines[:i], " " + lines[i] if blanks > 0 else lines[i][1:], *lines[i + 1 :]]
        new = [p for p in read_spec("\n".join(broken).encode(), "x.md", "x").problems if str(p) not in whole]
        advice = [(p.line - 1, int(n)) for p in new for n in re.findall(r"(\d+)(?: spaces|, as)", p.hint)]
        mended = [[*broken[:at], " " * n + broken[at].lstrip(" "), *broken[at + 1 :]] for at, n in advice] or [broken]
        after = [{p.code for p in read_spec("\n".join(m).encode(), "x.md", "x").problems} for m in mended]
        assert {"spec-value"} in after, (i + 1, lines[i], [str(p) for p in new])
        assert not new or any(abs(at - i) <= 1 for at, _ in advice), (i + 1, lines[i], [str(p) for p in new])
    assert tried > 90
