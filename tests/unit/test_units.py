"""Units: the frozen factors against pint, what people write, what must be refused, and printing."""

from __future__ import annotations

import math
import pickle
from typing import Any

import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from gasdoc import units
from gasdoc.units import Given, UnitError, both, convert, dimensions, kinds, parse, pressure_kind, show

ROWS = [
    (dimension, unit) for dimension, spellings in units.units().items() for unit in dict.fromkeys(spellings.values())
]


@pytest.fixture(scope="module")
def ureg() -> pint.UnitRegistry[Any]:
    return pint.UnitRegistry()


@pytest.mark.parametrize(("dimension", "unit"), ROWS, ids=[f"{d}:{u.spellings[0]}" for d, u in ROWS])
def test_each_row_of_the_list_is_what_pint_says(ureg: pint.UnitRegistry[Any], dimension: str, unit: units.Unit) -> None:
    si = units.si_unit(dimension)
    base = "dimensionless" if si == "1" else si.replace("m3", "m**3").replace("m2", "m**2")
    if dimension == "temperature":
        quantities = [pint_value(ureg, x, unit.pint, "kelvin") for x in (0.0, 100.0)]
        assert unit.offset == pytest.approx(quantities[0], rel=1e-12)
        assert unit.si == pytest.approx((quantities[1] - quantities[0]) / 100, rel=1e-12)
        return
    if dimension == "temperature difference":
        base = "delta_degree_Celsius"
    # Tolerance: the factors are kept to the digits of a float; inch of water to the 8 digits of its definition.
    assert unit.offset == 0
    assert unit.si == pytest.approx(
        pint_value(ureg, 1.0, unit.pint, base), rel=1e-8 if unit.pint == "inch_H2O" else 1e-12
    )


def pint_value(ureg: pint.UnitRegistry[Any], value: float, expression: str, to: str) -> float:
    if "*" in expression or "/" in expression:
        return float((value * ureg.parse_expression(expression)).to(to).magnitude)
    return float(ureg.Quantity(value, expression).to(to).magnitude)


def test_each_spelling_is_listed_once_in_its_dimension() -> None:
    for dimension, row in units._data().items():
        written = [units._squeeze(s) for u in row["units"] for s in u["spellings"]]
        assert len(written) == len(set(written)), dimension


@pytest.mark.parametrize("dimension", dimensions())
def test_the_example_of_each_dimension_reads_as_that_dimension(dimension: str) -> None:
    for system in ("us", "si", "anz"):
        assert parse(units.example(dimension, system), dimension).dimension == dimension


IN = 0.0254
FT = 0.3048
INH2O = 249.08891
BTU_H = 1055.05585262 / 3600


@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        ("3/8 in", "length", 3 / 8 * IN),
        ("1 1/8 in", "length", 9 / 8 * IN),
        ("1 1/2 in", "length", 1.5 * IN),  # pint alone: 0.5 in
        ("1-1/2 in", "length", 1.5 * IN),  # pint alone: refuses
        ("1½ in", "length", 1.5 * IN),  # pint alone: 1 in
        ("1 ½ in", "length", 1.5 * IN),
        ("½ in", "length", 0.5 * IN),  # pint alone: refuses
        ("5 ft 6 in", "length", 5.5 * FT),  # pint alone: an area
        ("5' 6\"", "length", 5.5 * FT),
        ("5'6 1/2\"", "length", 5 * FT + 6.5 * IN),
        ("5 ft 6", "length", 5.5 * FT),
        ("5 ft 0 in", "length", 5 * FT),
        ('3/8"', "length", 3 / 8 * IN),  # pint alone: 0.375 and no dimension
        ("5'", "length", 5 * FT),  # pint alone: 5 and no dimension
        ("5′ 6″", "length", 5.5 * FT),
        ("12 ft", "length", 12 * FT),
        ("12ft", "length", 12 * FT),
        ("  12   ft ", "length", 12 * FT),
        ("12. ft", "length", 12 * FT),
        (".5 m", "length", 0.5),
        ("1e3 mm", "length", 1.0),
        ("+2 m", "length", 2.0),
        ("-2 m", "length", -2.0),
        ("−2 m", "length", -2.0),
        ("-1 1/2 in", "length", -1.5 * IN),
        ("-1 ft 6 in", "length", -1.5 * FT),  # a run that falls
        ("-0 ft 6 in", "length", -0.5 * FT),
        ("1,250 mm", "length", 1.25),
        ("11 inH2O", "pressure", 11 * INH2O),
        ("11 in w.c.", "pressure", 11 * INH2O),  # pint alone: unknown
        ("11 inWC", "pressure", 11 * INH2O),  # pint alone: unknown
        ('11" WC', "pressure", 11 * INH2O),
        ("30 mbar", "pressure", 3000.0),
        ("10 psig", "pressure", 10 * 6894.757293168361),  # pint alone: unknown
        ("2 oz/in2", "pressure", 2 * 6894.757293168361 / 16),  # pint alone: mass per area
        ("30 kBtu/h", "power", 30_000 * BTU_H),
        ("30,000 Btu/h", "power", 30_000 * BTU_H),
        ("30000 BTU/hr", "power", 30_000 * BTU_H),
        ("30 MBH", "power", 30_000 * BTU_H),  # pint alone: unknown
        ("18000 btu/h", "power", 18_000 * BTU_H),  # pint alone: unknown
        ("-10 degF", "temperature", (-10 - 32) / 1.8 + 273.15),
        ("70 degF", "temperature", (70 - 32) / 1.8 + 273.15),  # pint alone, as a string: refuses to multiply
        ("21 °C", "temperature", 294.15),
        ("-40 C", "temperature", 233.15),
        ("1 degF", "temperature difference", 5 / 9),
        ("2 kg/day", "mass flow", 2 / 86400),
        ("4.7 gal", "volume", 4.7 * 231 * IN**3),
        ("1 imp gal", "volume", 0.00454609),
        ("20 lbs", "mass", 20 * 0.45359237),
        ("80 %", "share", 0.8),
        ("80%", "share", 0.8),
        ("2 h", "time", 7200.0),
    ],
)
def test_a_quantity_reads_as_people_write_it(text: str, dimension: str, si: float) -> None:
    given_ = parse(text, dimension)
    assert given_ == pytest.approx(si, rel=1e-9, abs=1e-12)
    assert (given_.dimension, given_.text) == (dimension, text.strip())


@pytest.mark.parametrize(
    ("text", "wanted", "message", "hint"),
    [
        ("12", ("length",), "'12' has no unit", "add the unit, such as ft, m, in or mm"),
        ("12", ("volume", "mass"), "'12' has no unit", "add the unit, such as gal, L, lb or kg"),
        ("30 000 Btu/h", ("power",), "'30 000 Btu/h' has a space inside its number", "write 30,000 or 30000"),
        (
            "1\u202f200\u202f000 W",
            ("power",),
            "'1\u202f200\u202f000 W' has a space inside its number",
            "write 1,200,000 or 1200000",
        ),
        ("6 kW/h", ("power",), "unknown unit 'kW/h' in '6 kW/h'", "did you mean 'kW'? It is a rate already"),
        ("ft", ("length",), "'ft' does not start with a number this field can read", "write a number and a unit"),
        (
            "unknown",
            ("length",),
            "'unknown' cannot stand here",
            "measure it or read it off. Until then write a guess, with its unit",
        ),
        ("", ("length",), "'' does not start with a number this field can read", "write a number and a unit"),
        (
            "1,5 m",
            ("length",),
            "'1,5 m' does not start with a number this field can read",
            "write the decimal with a point, as in '1.5 m'",
        ),
        ("nan m", ("length",), "'nan m' does not start with a number this field can read", "write a number and a unit"),
        ("inf m", ("length",), "'inf m' does not start with a number this field can read", "write a number and a unit"),
        ("1e999 m", ("length",), "'1e999 m' is not a finite value", "write it as in '12 ft'"),
        ("1/0 in", ("length",), "'1/0 in' divides by zero", "write a fraction such as 3/8"),
        (
            "1/2/3 in",
            ("length",),
            "'1/2/3 in' does not start with a number this field can read",
            "write a number and a unit",
        ),
        (
            "1.2.3 m",
            ("length",),
            "'1.2.3 m' does not start with a number this field can read",
            "write a number and a unit",
        ),
        ("12 kg", ("length",), "'12 kg' is a mass", "this needs a length, such as '12 ft'"),
        ("12 in", ("area",), "'12 in' is a length", "this needs an area, such as '40 in2'"),
        ("1 fl oz", ("volume",), "unknown unit 'fl oz' in '1 fl oz'", "this needs a volume, such as '29 gal'"),
        ("5 feets", ("length",), "unknown unit 'feets' in '5 feets'", "did you mean 'feet'?"),
        ("5 FT", ("length",), "unknown unit 'FT' in '5 FT'", "did you mean 'ft'?"),
        ("5 KPA", ("pressure",), "unknown unit 'KPA' in '5 KPA'", "did you mean 'kPa'?"),
        ("5 Mbar", ("pressure",), "unknown unit 'Mbar' in '5 Mbar'", "did you mean 'mbar'?"),
        ("25 psia", ("pressure",), "'25 psia' is an absolute pressure", "write the gauge pressure, as in '10 psi'"),
        (
            "5.5 ft 6 in",
            ("length",),
            "'5.5 ft 6 in' mixes a fraction of a foot with inches",
            "write it as in '5 ft 6 in'",
        ),
        ("5 ft 13 in", ("length",), "'5 ft 13 in' is not feet and inches", "write it as in '5 ft 6 in'"),
        ("5 ft 6 mm", ("length",), "'5 ft 6 mm' is not feet and inches", "write it as in '5 ft 6 in'"),
        ("-500 degF", ("temperature",), "'-500 degF' is below absolute zero", "write it as in '-10 degF'"),
        ("9" * 201, ("length",), "the text is too long for a quantity", "write it as in '12 ft'"),
    ],
)
def test_what_is_not_a_quantity_is_refused_with_what_would_be_right(
    text: str, wanted: tuple[str, ...], message: str, hint: str
) -> None:
    with pytest.raises(UnitError) as raised:
        parse(text, *wanted)
    assert (raised.value.message, raised.value.hint) == (message, hint)
    assert str(raised.value) == f"{message}; {hint}"


def test_the_dimensions_wanted_decide_what_a_spelling_means() -> None:
    assert parse("10 degF", "temperature difference") == pytest.approx(10 / 1.8)
    assert parse("10 degF", "temperature") == pytest.approx(260.9277777777778)
    assert parse("20 lb", "volume", "mass").dimension == "mass"
    assert parse("5 gal", "volume", "mass").dimension == "volume"


PIECES = st.sampled_from(
    [
        "1",
        "12",
        "1/2",
        "½",
        "1 1/2",
        "-",
        "−",
        "+",
        ".",
        ",",
        "/",
        "e",
        "e308",
        "9" * 60,
        "1e",
        " ",
        "ft",
        "in",
        "'",
        '"',
        "psi",
        "inH2O",
        "Btu/h",
        "degF",
        "°",
        "%",
        "nan",
        "inf",
        "0x1",
        "٣",
        "²",
        "\u00a0",
        "\n",
        "0/0",
        "1,000",
        "(",
        "**",
    ]
)


@given(st.one_of(st.text(max_size=30), st.lists(PIECES, max_size=7).map("".join)), st.sampled_from(dimensions()))
@example("1/" + "0" * 150 + " in", "length")
@example("9" * 190 + "/1 in", "length")
@example("9" * 180 + " 1/3 in", "length")
@example("1e308 m", "length")
@example("9" * 195 + " ft 1 in"[:5], "length")
@example("1e308 ft 1 in", "length")
@example("1e999 ft 1 in", "length")
@example("1/" + "9" * 190 + " in", "length")
@example("²/3 in", "length")
def test_any_text_gives_a_finite_quantity_or_a_unit_error(text: str, dimension: str) -> None:
    try:
        given_ = parse(text, dimension)
    except UnitError as error:
        assert error.message and error.hint
    else:
        assert math.isfinite(given_)
        assert given_.dimension == dimension


@given(st.floats(-1e6, 1e6, allow_nan=False), st.sampled_from(ROWS))
def test_a_written_value_comes_back_in_its_own_unit(value: float, row: tuple[str, units.Unit]) -> None:
    dimension, unit = row
    for spelling in unit.spellings:
        try:
            given_ = parse(f"{value!r} {spelling}", dimension)
        except UnitError as error:
            assert "absolute zero" in error.message
            continue
        # Tolerance: temperatures lose digits against their offset.
        assert convert(given_, dimension, spelling) == pytest.approx(value, rel=1e-9, abs=1e-6)
        assert given_.unit == unit.spellings[0]


@given(st.integers(0, 400), st.integers(0, 11), st.integers(0, 15))
def test_feet_inches_and_sixteenths_are_exact(feet: int, inches: int, sixteenths: int) -> None:
    si = parse(f"{feet} ft {inches} {sixteenths}/16 in", "length")
    assert si == pytest.approx((feet * 12 + inches + sixteenths / 16) * IN, rel=1e-12, abs=1e-15)


def test_a_given_quantity_is_a_float_that_survives_pickling() -> None:
    given_ = parse("5 ft 6 in", "length")
    again = pickle.loads(pickle.dumps(given_))
    assert isinstance(again, Given)
    assert (again, again.text, again.unit, again.dimension) == (given_, "5 ft 6 in", "ft", "length")
    error = pickle.loads(pickle.dumps(UnitError("a", "b")))
    assert (error.message, error.hint) == ("a", "b")


@pytest.mark.parametrize(
    ("si", "kind", "us", "si_text"),
    [
        (9 * FT, "run length", "9 ft", "2.74 m"),
        (9.5 * FT, "run length", "9.5 ft", "2.9 m"),
        (11 * INH2O, "supply pressure", "11 inH2O", "27.4 mbar"),
        (30_000 * BTU_H, "load", "30 kBtu/h", "8.79 kW"),
        (249.8166666666, "temperature", "-10 degF", "-23 degC"),
        (0.0, "drop", "0 inH2O", "0 mbar"),
        (-1e-9, "drop", "0 inH2O", "0 mbar"),
        (100 / 86400, "fuel use", "220.46 lb/day", "100 kg/day"),
        (3000.0, "altitude", "9,843 ft", "3,000 m"),
    ],
)
def test_a_quantity_prints_with_the_unit_and_digits_of_its_kind(si: float, kind: str, us: str, si_text: str) -> None:
    assert show(si, kind, "us") == us
    assert show(si, kind, "si") == si_text
    assert both(si, kind, "us") == f"{us} ({si_text})"
    assert both(si, kind, "si") == f"{si_text} ({us})"


@given(st.floats(-1e5, 1e5), st.sampled_from(kinds()), st.sampled_from(["us", "si", "anz"]))
def test_what_is_printed_reads_back_to_its_last_digit(si: float, kind: str, system: units.System) -> None:
    shown = units._KINDS[kind]
    spelling, digits = shown.unit(system)
    if shown.dimension == "temperature":
        si = abs(si) + 1.0
    text = show(si, kind, system)
    assert abs(
        convert(parse(text, shown.dimension), shown.dimension, spelling) - convert(si, shown.dimension, spelling)
    ) <= (0.5 * 10**-digits * (1 + 1e-6) + abs(convert(si, shown.dimension, spelling)) * 1e-9)


def test_the_units_a_hint_offers_are_of_the_list_and_of_both_systems() -> None:
    for dimension in units.dimensions():
        offered = [units.units()[dimension][spelling] for spelling in units.common(dimension)]
        assert len({unit.pint for unit in offered}) == len(offered) >= (1 if dimension == "share" else 2)
    assert parse("3.6 MJ/hr", "power") == pytest.approx(1000.0)


def test_square_feet_are_no_length_in_feet_and_inches() -> None:
    with pytest.raises(UnitError, match="is an area"):
        parse("110 ft2", "length")


@pytest.mark.parametrize(
    "text",
    [
        '11"wc',
        '11 "wc',
        '11" wc',
        "11 in wc",
        '11" w.c.',
        '11"w.c.',
        '11"WC',
        '11" W.C.',
        "11 in. w.c.",
        "11 in W.C.",
        '11"H2O',
    ],
)
def test_inches_of_water_are_read_as_people_and_plates_write_them(text: str) -> None:
    assert parse(text, "pressure") == pytest.approx(11 * 249.08891)


@pytest.mark.parametrize(
    ("gauge", "us", "si"),
    [
        ("11 inH2O", "11 inH2O", "27.4 mbar"),
        ("57 mbar", "0.83 psi", "57 mbar"),  # a 50 mbar system locked up
        ("1 psi", "1 psi", "68.9 mbar"),
        ("150 mbar", "2.18 psi", "150 mbar"),
        ("0.7 bar", "10.2 psi", "0.7 bar"),
        ("8 bar", "116 psi", "8 bar"),
    ],
)
def test_a_gauge_pressure_prints_in_the_unit_that_suits_its_size(gauge: str, us: str, si: str) -> None:
    value = parse(gauge, "pressure")
    assert show(value, pressure_kind(value, "us"), "us") == us
    assert show(value, pressure_kind(value, "si"), "si") == si


@pytest.mark.parametrize(
    ("text", "dimension", "system", "read"),
    [
        ("3 fathom", "length", "us", "18 ft"),  # 6 ft each
        ("3 fathom", "length", "si", "5.486 m"),
        ("2 hp", "power", "us", "5.089 kBtu/h"),  # 2545 Btu/h each
        ("100 mmHg", "pressure", "si", "0.1333 bar"),  # 133.32 Pa each
        ("4 stone", "mass", "us", "56 lb"),  # 14 lb each
        ("540 degR", "temperature", "us", "80.33 degF"),  # absolute: less 459.67
    ],
)
def test_a_unit_that_is_not_on_the_list_is_told_in_one_that_is(
    text: str, dimension: str, system: units.System, read: str
) -> None:
    with pytest.raises(units.UnitError) as told:
        units.parse(text, dimension, system=system)
    assert f"'{read}'" in told.value.hint


@pytest.mark.parametrize(
    "text", ["3 fathom**99", "3 dozen", "3 zorkmid", "1e300 fathom", "3 m/m/m/m", "2 dB", "3 " + "a" * 60]
)
def test_what_no_unit_of_that_kind_is_gets_the_usual_example(text: str) -> None:
    with pytest.raises(units.UnitError) as told:
        units.parse(text, "pressure", "share")
    assert "such as" in told.value.hint


def test_every_unit_that_pint_knows_is_told_or_refused(ureg: pint.UnitRegistry[Any]) -> None:
    names = sorted(name for name in dir(ureg) if name.isascii() and name.isalpha())
    assert len(names) > 400
    for name in names:
        for dimension in ("length", "temperature", "pressure"):
            try:
                units.parse(f"3 {name}", dimension)
            except units.UnitError as told:
                assert told.hint


@pytest.mark.parametrize(
    ("si", "kind", "text"),
    [
        (2750.0, "supply pressure", "2.75 kPa"),
        (7000.0, "test pressure", "7 kPa"),
        (101_325.0, "barometer", "101.3 kPa"),
        (700e3, "container pressure", "700 kPa"),
        (130.0, "drop", "0.13 kPa"),
        (9000.0, "load", "32.4 MJ/h"),  # 9 kJ/s for 3600 s
        (36e6, "energy", "36 MJ"),
        (2.0, "run length", "2 m"),
        (0.0001, "gas mass", "0.36 kg/h"),
    ],
)
def test_australia_and_new_zealand_read_kpa_and_mj_and_else_metric_units(si: float, kind: str, text: str) -> None:
    assert show(si, kind, "anz") == text


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        (23.9, "23.9 in"),
        (23.96, "2 ft 0 in"),  # what is printed decides
        (24.0, "2 ft 0 in"),
        (132.0, "11 ft 0 in"),
        (129.5, "10 ft 9.5 in"),
        (1211.99, "101 ft 0 in"),
    ],
)
def test_a_distance_is_told_in_feet_and_inches_from_two_feet_on_and_the_size_of_a_thing_never(
    inches: float, text: str
) -> None:
    assert units.show(inches * 0.0254, "distance", "us") == text
    assert units.show(inches * 0.0254, "short length", "us").endswith(" in") and " ft " not in units.show(
        inches * 0.0254, "short length", "us"
    )
    assert units.show(inches * 0.0254, "distance", "si") == f"{inches * 25.4:,.0f} mm"


@pytest.mark.parametrize(
    ("si", "kind", "system", "text"),
    [
        (12_000.0, "load", "us", "41 kBtu/h"),  # 40.946
        (9_650.0, "load", "si", "9.65 kW"),
        (9_651.0, "load", "si", "9.66 kW"),
        (0.1 + 0.2, "run length", "si", "0.3 m"),  # what arithmetic leaves behind is not rounded up
        (0.0, "weight", "si", "0 kg"),
    ],
)
def test_the_least_that_has_to_be_is_rounded_up(si: float, kind: str, system: units.System, text: str) -> None:
    assert units.show_up(si, kind, system) == text
