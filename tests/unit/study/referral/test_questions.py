"""The questions for the authority, filled in with the build."""

from __future__ import annotations

import pytest
from made_up_builds import build, outlet, run, study_of

from gasdoc.report.views.referral import to_ask
from gasdoc.study.referral.questions import asked_of


@pytest.mark.parametrize(
    ("region", "says"),
    [
        (
            "us-cabin",
            ("piping, 1.5 times working pressure: 3 psi or more for 10 min", "manometer: 8.5 to 9.5 inH2O for 3 min"),
        ),
        # 3 x 11 inH2O = 33 inH2O, 1.19 psi; never more than 150 mbar, 2.18 psi
        (
            "boat-eu",
            ("three times working pressure: 1.19 to 2.18 psi for 5 min", "10 inH2O or more, below lock-up for 10 min"),
        ),
        ("us-trailer", ("appliances connected: 10 to 14 inH2O for 10 min",)),
    ],
)
def test_a_question_about_tests_names_the_whole_range_of_their_pressures(region: str, says: tuple[str, ...]) -> None:
    made = study_of(
        build(run("9 ft", "1/2 in nominal", material="copper", type="k"), outlet("Heater", "20 kBtu/h"), region=region)
    )
    (asked,) = [q.text for q in made.questions if "leak check" in q.text]
    for words in says:
        assert words in asked


def test_a_figure_from_memory_names_the_questions_that_ask_about_it_and_one_that_was_read_names_none() -> None:
    made = study_of(
        build(
            run("9 ft", "1/2 in nominal", material="copper", type="k"), outlet("Heater", "20 kBtu/h"), region="canada"
        )
    )
    tests = {a.test.id: a.test for a in made.leak_test.asked}
    asked = to_ask(made, "tests/piping-csa", tests["piping-csa"].citation)
    assert set(asked.values()) == {"tests", "canada-test"}
    assert all(made.questions[number - 1].id == id_ for number, id_ in asked.items())
    assert to_ask(made, "tests/leak-check-low", tests["leak-check-low"].citation) == {}  # 10 min, read in a text
    assert asked_of(made.questions, "canada", "rules/fill-by-nobody") == {}
