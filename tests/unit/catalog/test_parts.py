"""The catalogue of parts, and a project's own."""

from __future__ import annotations

import re
from fractions import Fraction
from importlib import resources

import pytest

from gasdoc import data
from gasdoc.catalog import parts as catalog
from gasdoc.catalog import stock
from gasdoc.catalog.tubing import sizes
from gasdoc.engineering.materials.ends import CYLINDERS, End
from gasdoc.engineering.materials.joints import Chain, Shelf
from gasdoc.engineering.materials.written_ends import parse_end
from gasdoc.regions.practice import ROWS
from gasdoc.source import CONFIRMED, read_yaml

OWN = """\
parts:
  - id: my-adapter
    name: "adapter, {a} NPT male x R {b}"
    shape: adapter
    use: fitting
    ends: ["{a} MNPT", "{b} male BSPT"]
    sizes: ["1/2 x 1/2"]
    rating: 150 psi
    container_side: no
    concealed: no
    source: the maker's sheet
    confirmed: once
"""


def own(text: str) -> tuple[catalog.Catalogue, list[str]]:
    document = read_yaml(text, "parts.yaml")
    found = catalog.read_parts(document)
    return found, [str(problem) for problem in document.problems]


def test_the_shipped_file_reads_the_same_with_positions_and_without() -> None:
    text = resources.files("gasdoc.catalog").joinpath("parts.yaml").read_text(encoding="utf-8")
    found, problems = own(text)
    assert problems == []
    assert found == catalog.catalogue()
    assert len(found.parts) > 350


def test_every_part_has_a_source_and_ends_that_fit_its_shape() -> None:
    number = {"cap": 1, "plug": 1, "tap": 1, "tee": 3}
    for part in catalog.catalogue().parts:
        assert catalog.catalogue().sources[part.id].confirmed in CONFIRMED
        if part.shape in number and part.id.split(":")[0] not in ("test-point-compression", "ring-test-point"):
            assert len(part.ends) == number[part.shape], part.id
        if part.use == "fitting":
            assert len(part.ends) == 2, part.id
        assert "{" not in part.name


def test_a_bushing_is_larger_outside_than_inside() -> None:
    def inches(size: str) -> float:
        return float(sum(Fraction(piece) for piece in size.split("-")))

    for part in catalog.catalogue().parts:
        if part.shape == "bushing":
            outer, inner = part.ends
            assert outer.gender == "male" and inner.gender == "female"
            assert inches(outer.size) > inches(inner.size), part.id


def test_nothing_that_is_hidden_or_at_container_pressure_may_be_a_union_bushing_or_compression_fitting() -> None:
    for part in catalog.catalogue().parts:
        kinds = {end.kind for end in part.ends}
        if part.shape in ("union", "bushing", "flare-nut") or kinds & {"flare", "compression", "cutting-ring", "csst"}:
            assert not part.concealed, part.id
        if part.container_side:
            assert part.rating is not None and part.rating >= 1.7e6, part.id
        if kinds & {"compression", "cutting-ring"} or part.shape == "bushing":
            assert not part.container_side, part.id


def test_every_listed_size_of_corrugated_tubing_and_copper_has_its_fitting() -> None:
    ends = {end for part in catalog.catalogue().of_use("fitting") for end in part.ends}
    for size in sizes("csst"):
        assert End("csst", size.id, "female") in ends
    for inch in ("1/4", "3/8", "1/2", "5/8", "3/4", "7/8"):
        assert End("flare-nut", inch, "female") in ends
    for mm in ("6 mm", "8 mm", "10 mm", "12 mm", "15 mm"):
        assert End("compression", mm, "female") in ends


def test_every_cylinder_connection_has_its_thread_with_a_mark() -> None:
    rows = data.words("gasdoc.catalog", "joints.yaml")["threads"]["cylinder"]
    assert {row["kind"] for row in rows} == set(CYLINDERS)
    for row in rows:
        assert row["confirmed"] in CONFIRMED
        for name in row["names"]:
            assert parse_end(name, "female").kind == row["kind"]


def test_what_is_sold_in_a_region_only_is_on_offer_nowhere_else() -> None:
    """Flares are the fittings of America and Australia, cutting rings those of Europe (the trade's own practice)."""
    sold = {rows: {p.id for p in catalog.catalogue().sold_in((rows,)).parts} for rows in ROWS}
    assert all(row in ROWS for rows in catalog.catalogue().practice.values() for row in rows)
    for part, where in (
        ("flare-nut:3/8", {"north-american", "australasian"}),
        ("flare-bspt:3/8 x 1/2", {"australasian"}),
        ("ring-union:8", {"european"}),
    ):
        assert {row for row, parts in sold.items() if part in parts} == where
    assert all("compression-union:8" in parts for parts in sold.values())


@pytest.mark.parametrize(
    ("met", "gone", "left"),
    [
        ({"steel-tube", "bspt"}, {"compression-union:8", "compression-piece:8", "npt-cap:1/2"}, {"ring-union:8", "bspt-cap:1/2"}),
        ({"tube", "bspt"}, {"ring-union:8", "ring-piece:8"}, {"compression-union:8", "compression-piece:8"}),
        ({"tube", "cutting-ring", "npt", "bspp"}, set(), {"ring-union:8", "compression-union:8", "npt-cap:1/2", "bspt-cap:1/2"}),
        ({"npt"}, {"bspt-cap:1/2", "ring-union:8"}, {"hose-lh", "npt-cap:1/2", "compression-union:8"}),  # of rings nothing is said
        ({"bspt"}, {"npt-cap:1/2"}, {"container-manifold-2:1/4 x 1/4", "pol-adapter:1/4"}),  # what goes onto a container is of no system
    ],
)  # fmt: skip
def test_of_systems_that_do_not_mix_only_the_one_that_is_met_is_on_offer(
    met: set[str], gone: set[str], left: set[str]
) -> None:
    offered = {part.id for part in catalog.catalogue().closed_by(met).parts}
    assert left <= offered and not gone & offered


def test_a_project_adds_a_part_that_closes_a_gap() -> None:
    found, problems = own(OWN)
    assert problems == []
    ask = (parse_end("1/2 FNPT", "female"), parse_end("Rc 1/2", "female"))
    here = ("european",)
    assert not isinstance(Shelf(catalog.catalogue().sold_in(here).of_use("fitting")).join(*ask), Chain)
    both = catalog.with_own(found).sold_in(here)
    chain = Shelf(both.of_use("fitting")).join(*ask)
    assert isinstance(chain, Chain) and [part.id for part in chain.parts] == ["my-adapter:1/2 x 1/2"]
    assert both.sources["my-adapter:1/2 x 1/2"].text == "the maker's sheet"


def test_a_part_of_the_same_id_replaces_the_listed_one_in_its_place() -> None:
    text = OWN.replace("my-adapter", "npt-union").replace('"{b} male BSPT"', '"{b} FNPT"').replace("1/2 x 1/2", "1/2")
    text = text.replace("{b}", "{a}").replace("{a} MNPT", "{a} FNPT")
    found, problems = own(text)
    assert problems == []
    both = catalog.with_own(found)
    before = [part.id for part in catalog.catalogue().parts]
    assert [part.id for part in both.parts] == before
    assert both.part("npt-union:1/2") == found.parts[0]


@pytest.mark.parametrize(
    ("old", "new", "line", "message"),
    [
        ("shape: adapter", "shape: adaptor", 4, "did you mean 'adapter'"),
        ("use: fitting", "use: fiting", 5, "did you mean 'fitting'"),
        ("container_side: no", "container_side: maybe", 9, "yes or no"),
        ("rating: 150 psi", "rating: 150", 8, "no unit"),
        ("rating: 150 psi", "rating: 0 psi", 8, "more than zero"),
        ('"{a} MNPT"', '"{a} BSP"', 6, "may be a taper or a parallel thread"),
        ('"{a} MNPT"', '"{c} MNPT"', 7, "does not fill the name and the ends"),
        ("confirmed: once", "confirmed: surely", 12, "one of: twice"),
        ("id: my-adapter", "id: My Adapter", 2, "is no id"),
        ("shape: adapter", "colour: blue", 4, "unknown key 'colour'"),
        ("    source: the maker's sheet\n", "", 2, "'source' is missing"),
        ("parts:", "part:", 1, "did you mean 'parts'"),
    ],
)
def test_a_mistake_in_a_project_s_file_is_named_with_its_line(old: str, new: str, line: int, message: str) -> None:
    found, problems = own(OWN.replace(old, new, 1))
    assert found.parts == ()
    assert any(re.match(rf"parts\.yaml:{line}:\d+: error: ", problem) and message in problem for problem in problems)


@pytest.mark.parametrize(
    "text", ["", "[]", "parts: 3", "parts: [3]", "parts: []\nsources: [1]", "sources: {a: 1}\nparts: []"]
)
def test_any_other_file_is_a_problem_and_not_a_crash(text: str) -> None:
    found, problems = own(text)
    assert found.parts == ()
    assert bool(problems) == bool(text)


def held(shape: str, ends: list[str], **more: str) -> list[str]:
    """What is said of a project's part of that shape."""
    values = {"use": "fitting", "container_side": "no", "concealed": "no", **more}
    rows = "".join(f"    {key}: {value}\n" for key, value in values.items())
    text = f"parts:\n  - id: mine\n    name: mine\n    shape: {shape}\n    ends: {ends}\n{rows}    source: seen\n"
    return own(f"{text}    confirmed: practice\n")[1]


@pytest.mark.parametrize(
    ("shape", "ends", "more", "line", "said"),
    [
        ("adapter", ["1/2 MNPT"], {}, 5, "what joins two ends has 2 ends, and here are 1; write one for each opening"),
        ("tee", ["1/2 FNPT", "1/2 FNPT"], {"use": "branch"}, 5, "a tee has 3 ends, and here are 2"),
        ("cap", ["1/2 FNPT", "1/2 FNPT"], {"use": "closure"}, 5, "a cap has 1 end, and here are 2"),
        ("bushing", ["1/4 MNPT", "1/2 FNPT"], {}, 5, "a bushing is larger outside than inside"),
        ("union", ["1/2 FNPT", "1/2 FNPT"], {"concealed": "yes"}, 8, "is never hidden; write 'concealed: no'"),
        ("half-union", ["3/8 male flare", "1/2 MNPT"], {"concealed": "yes"}, 8, "is never hidden"),
        ("adapter", ["10 mm compression", "R 1/4"], {"container_side": "yes"}, 7, "never sits at container pressure"),
        ("adapter", ["1/4 MNPT", "male POL"], {"container_side": "yes"}, 7, "rated for 250 psi (17.2 bar) or more"),
        ("adapter", ["1/4 MNPT", "male POL"], {"container_side": "yes", "rating": "150 psi"}, 7, "rated for 250 psi"),
    ],
)
def test_what_is_asked_of_listed_parts_is_asked_of_a_projects_own(
    shape: str, ends: list[str], more: dict[str, str], line: int, said: str
) -> None:
    (problem,) = held(shape, ends, **more)
    assert problem.startswith(f"parts.yaml:{line}:") and said in problem
    assert held("adapter", ["1/4 MNPT", "male POL"], container_side="yes", rating="250 psi") == []


def test_a_part_may_be_for_some_builds_only() -> None:
    found, problems = own(OWN + "    builds: [my-hut, my-boat]\n")
    assert problems == []
    assert [[part.id for part in found.of_build(slug).parts] for slug in ("my-hut", "larch")] == [
        [found.parts[0].id],
        [],
    ]
    assert own(OWN)[0].of_build("larch").parts == own(OWN)[0].parts


def test_a_part_listed_twice_is_a_problem() -> None:
    _, problems = own(OWN + OWN.removeprefix("parts:\n"))
    assert len(problems) == 1 and "listed twice" in problems[0]


def test_stock_is_listed_for_the_tubing_of_the_examples() -> None:
    (coils,) = stock.stock_rows("csst", None, "EHD 18")
    assert coils.coil and tuple(length.text for length in coils.lengths[:4]) == ("25 ft", "50 ft", "75 ft", "100 ft")
    assert coils.lengths[1] == pytest.approx(15.24)
    assert [row.coil for row in stock.stock_rows("copper", "L", "1/2")] == [True, False]
    pipe, metric = stock.stock_rows("steel", "schedule 40", "3/4")
    assert (pipe.units, metric.units, metric.lengths) == ("us", "si", (6.0,))
    assert not pipe.coil and tuple(length.text for length in pipe.lengths) == ("10 ft", "21 ft")
    assert stock.stock_rows("copper-metric", None, "8x1")[0].lengths == (5.0, 10.0, 25.0, 50.0)
    assert stock.stock_rows("bamboo", None, "1") == ()


def test_allowances_and_spares_are_found_by_name() -> None:
    assert stock.allowance("coil").share == pytest.approx(0.10)
    assert stock.allowance("each-run").length == pytest.approx(0.1524)
    with pytest.raises(KeyError):
        stock.allowance("luck")


def test_an_unknown_part_names_the_nearest() -> None:
    with pytest.raises(KeyError, match="npt-nipple:1/2"):
        catalog.catalogue().part("npt-niple:1/2")


def test_no_flare_of_seven_eighths_is_rated_above_what_its_makers_sheet_has() -> None:
    # A maker's sheet has 550 psi for copper tube joints of 3/4 in, and 450 psi for 7/8 in.
    most = 450 * 6894.757
    found = [
        part for part in catalog.catalogue().parts if any("flare" in e.kind and e.size == "7/8" for e in part.ends)
    ]
    assert found and all(part.rating is not None and part.rating <= most * (1 + 1e-6) for part in found)
