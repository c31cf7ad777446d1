"""Charts: round ticks, places worked by hand, and what the template makes of them."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.report.drawings.chart import (
    WIDTH,
    Axis,
    BarAmount,
    BarChart,
    BarPart,
    Curve,
    LineChart,
    bar_chart,
    line_chart,
    plain,
    round_ticks,
    timeline,
)
from gasdoc.report.pages.templates import environment

FINITE = st.floats(-1e9, 1e9, allow_nan=False).map(lambda value: round(value, 6))


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [
        (0, 19.6, (0, 5, 10, 15, 20)),
        (0, 47, (0, 10, 20, 30, 40, 50)),
        (0, 1, (0, 0.2, 0.4, 0.6, 0.8, 1)),
        (-3, 9, (-4, -2, 0, 2, 4, 6, 8, 10)),
        (230, 270, (230, 240, 250, 260, 270)),
        (0, 0.0042, (0, 0.001, 0.002, 0.003, 0.004, 0.005)),
    ],
)
def test_ticks_are_round(low: float, high: float, ticks: tuple[float, ...]) -> None:
    assert round_ticks(low, high, 7) == pytest.approx(ticks)


@given(FINITE, FINITE)
def test_ticks_hold_what_they_are_made_for(a: float, b: float) -> None:
    low, high = min(a, b), max(a, b)
    if high - low < 1e-6 * max(abs(low), abs(high)):
        low = high  # closer than a tick's own digits
    ticks = round_ticks(low, high)
    slack = 1e-6 * (ticks[-1] - ticks[0])
    assert ticks[0] <= low + slack and ticks[-1] >= high - slack
    assert 2 <= len(ticks) <= 7
    steps = [later - earlier for earlier, later in pairwise(ticks)]
    assert min(steps) > 0 and max(steps) == pytest.approx(min(steps), rel=1e-4)


@pytest.mark.parametrize("limits", [(1.0, 0.0), (float("nan"), 1.0), (0.0, float("inf"))])
def test_no_scale_for_what_is_not_finite_or_not_in_order(limits: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="no scale"):
        round_ticks(*limits)


def test_a_ticks_label_has_no_idle_zeros() -> None:
    assert [plain(v) for v in (0.0, 0.5, 20.0, 1500.0)] == ["0", "0.5", "20", "1,500"]


def two_lines() -> LineChart:
    return line_chart(
        "demo",
        "Title",
        "What it shows.",
        Axis("hour", (0.0, 12.0, 24.0)),
        Axis("psi"),
        (
            Curve("full", ((0.0, 0.0), (12.0, 10.0), (24.0, 20.0)), "one"),
            Curve("needed", ((0.0, 11.0), (24.0, 11.0)), "limit"),
        ),
    )


def test_points_are_placed_between_the_outer_ticks() -> None:
    chart = two_lines()
    middle_x, middle_y = (chart.left + chart.right) / 2, (chart.top + chart.bottom) / 2
    assert chart.lines[0].path == (
        f"M{chart.left:g},{chart.bottom:g}L{middle_x:g},{middle_y:g}L{chart.right:g},{chart.top:g}"
    )
    assert [t.at for t in chart.x_ticks] == [chart.left, middle_x, chart.right]
    assert chart.y_ticks[0].at == chart.bottom and chart.y_ticks[-1].at == chart.top


def test_the_scale_begins_at_zero_unless_told_otherwise() -> None:
    series = (Curve("a", ((0.0, 230.0), (1.0, 270.0)), "one"),)
    assert line_chart("a", "", "", Axis("x"), Axis("y"), series).y_ticks[0].label == "0"
    assert line_chart("a", "", "", Axis("x"), Axis("y"), series, from_zero=False).y_ticks[0].label == "230"


def test_a_long_key_goes_on_to_another_row() -> None:
    series = tuple(Curve(f"a rather long name {i}", ((0.0, 1.0), (1.0, 2.0)), "one") for i in range(4))
    chart = line_chart("a", "", "", Axis("x"), Axis("y"), series)
    rows = sorted({line.key_y for line in chart.lines})
    assert len(rows) > 1 and rows[-1] < chart.top - 20
    assert all(line.key_x < WIDTH for line in chart.lines)


def test_nothing_to_draw_is_refused() -> None:
    with pytest.raises(ValueError, match="needs points"):
        line_chart("a", "", "", Axis("x"), Axis("y"), ())
    with pytest.raises(ValueError, match="bars need"):
        bar_chart("a", "", "", ())
    with pytest.raises(ValueError, match="bars need"):
        bar_chart("a", "", "", (BarAmount("x", "", (BarPart(-1.0),)),))


def bars() -> BarChart:
    return bar_chart(
        "bars",
        "Title",
        "What it shows.",
        (BarAmount("Heater", "40 kWh", (BarPart(40.0),)), BarAmount("Cooker", "10 kWh", (BarPart(10.0),))),
        20.0,
        "limit",
    )


def test_the_longest_bar_is_the_whole_width_and_the_others_in_proportion() -> None:
    chart = bars()
    assert [bar.pieces[0].width for bar in chart.bars] == [WIDTH, WIDTH / 4]
    assert chart.limit == WIDTH / 2


def test_pieces_lie_one_after_another_in_what_they_are_cut_from_and_the_narrow_ones_have_no_number() -> None:
    cut = (BarPart(6.0, "1"), BarPart(0.1, "2"), BarPart(2.0, "3"))
    long, short = bar_chart(
        "b", "", "", (BarAmount("coil", "", cut, 10.0), BarAmount("offcut", "", (BarPart(5.0, "4"),), 5.0))
    ).bars
    assert (long.whole, short.whole) == (WIDTH, WIDTH / 2)
    # By hand, 36 units of the drawing to 1 of length: at 0, 216 and 219.6; 216, 3.6 and 72 wide.
    assert [(piece.x, piece.width, piece.number) for piece in long.pieces] == [
        (0, 216, "1"),
        (216, 3.6, ""),
        (219.6, 72, "3"),
    ]
    assert short.y > long.y


def test_what_may_come_on_top_is_drawn_as_a_range_behind_the_piece() -> None:
    chart = bar_chart(
        "b",
        "",
        "",
        (
            BarAmount("Tubing", "", (BarPart(150.0), BarPart(50.0, style="range"))),
            BarAmount("Fittings", "", (BarPart(20.0),)),
        ),
    )
    assert [(piece.style, piece.x, piece.width) for piece in chart.bars[0].pieces] == [
        ("piece", 0, 270),
        ("range", 270, 90),
    ]
    assert chart.bars[0].whole == 0 and 'class="whole"' not in drawn(chart) and 'class="range"' in drawn(chart)


def drawn(chart: LineChart | BarChart) -> str:
    macro = "line_chart" if isinstance(chart, LineChart) else "bar_chart"
    template = environment(None).from_string('{% import "charts.html" as charts %}{{ charts.' + macro + "(chart) }}")
    return template.render(chart=chart)


@pytest.mark.parametrize("chart", [two_lines(), bars()])
def test_the_drawing_is_named_described_and_has_no_style_of_its_own(chart: LineChart | BarChart) -> None:
    html = drawn(chart)
    assert 'role="img"' in html and f'aria-labelledby="{chart.id}-title {chart.id}-desc"' in html
    assert f'<title id="{chart.id}-title">Title</title>' in html and "What it shows." in html
    ids = re.findall(r'\bid="([^"]+)"', html)
    assert len(ids) == len(set(ids)) == 2
    assert "style=" not in html and "#" not in html and 'width="3' not in html.split("viewBox")[0]
    assert drawn(chart) == html


def test_every_label_fits_the_drawing() -> None:
    """At 358 px, the width of a phone's page, a letter 11 units high stays about as high in pixels."""
    html = drawn(two_lines())
    _, _, width, height = (float(v) for v in re.findall(r'viewBox="([^"]+)"', html)[0].split())
    for x, y in re.findall(r'<text x="([\d.]+)" y="([\d.]+)"', html):
        assert 0 <= float(x) <= width and 8 <= float(y) <= height
    assert 358 / width * 11 > 10


def test_text_of_a_spec_is_escaped_in_a_chart() -> None:
    assert "<b>" not in drawn(bar_chart("a", "<b>", "<b>", (BarAmount("<b>", "<b>", (BarPart(1.0, "<b>"),)),)))


def test_marks_of_a_timeline_stand_where_they_fall_and_run_together_when_close() -> None:
    chart = timeline(
        "t",
        "Title",
        "What it shows",
        [("Yearly", [0.0, 0.5, 1.0]), ("Weekly", [i / 260 for i in range(261)])],
        [(0.25, "2027")],
    )
    yearly, weekly = chart.rows
    assert [float(x) for x in re.findall(r"M([\d.]+),", yearly.path)] == [0, WIDTH / 2, WIDTH]
    assert re.fullmatch(rf"M0,[\d.]+H{WIDTH:g}", weekly.path)
    assert [(tick.at, tick.label) for tick in chart.ticks] == [(WIDTH / 4, "2027")]
    assert weekly.y > yearly.y and chart.height > weekly.y


@pytest.mark.parametrize("mark", [-0.01, 1.01])
def test_a_timeline_has_no_marks_outside_its_scale(mark: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        timeline("t", "Title", "What it shows", [("One", [mark])], [])
