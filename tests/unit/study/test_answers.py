"""The headline answers are the same on the overview, in the JSON of a study and in that of a check."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import pytest
from made_up_builds import REGULATOR, build, outlet, run, study_of, two_stage
from made_up_builds import text as text_of
from markupsafe import Markup

from gasdoc.cli.command import main
from gasdoc.report.content.words import Quantities
from gasdoc.report.formats.jsonout import study_json
from gasdoc.report.views import overview
from gasdoc.report.views.container import page
from gasdoc.study.answers import AnswerFigure, Headline

BUILDS = {
    "one run": build(run("20 ft", "3/8 in nominal", material="copper", type="L"), outlet("Heater", "64 kBtu/h")),
    "two stages": two_stage(),
    "no size": build(
        run("10 ft", material="copper", type="K"),
        outlet("Kiln", "9000 kBtu/h", kind="other"),
        regulator={**REGULATOR, "capacity": "9000 kBtu/h"},
    ),
}


def plain(markup: str) -> str:
    """Text without tags, and without the other unit system in brackets."""
    return html.unescape(re.sub(r"<[^>]+>", "", re.sub(r' <span class="also">.*?\)</span>', "", markup))).replace(
        "\xa0", " "
    )


@pytest.mark.parametrize("name", BUILDS)
def test_overview_container_page_and_json_give_one_answer(name: str) -> None:
    made = study_of(BUILDS[name])
    told = study_json(made)["study"]["answers"]
    shown = overview.view(made, Markup())
    assert told["gas_gets_there"]["word"] == shown["answers"].gas_gets_there.word
    assert told["gas_gets_there"]["why"].replace("\xa0", " ") == plain(shown["reaches_why"])
    figures = {row[0]: row[1:] for row in page.view(made)["held_figures"]}
    assert figures["A cold night"] == tuple(told["cold_night"].values())
    assert figures["A full supply lasts"] == tuple(told["full_supply"].values())
    assert told["standing"]["word"] == made.standing.word


def test_a_check_tells_the_same_answers_as_data(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    spec = BUILDS["no size"]
    (tmp_path / "kiln.md").write_text(text_of(spec), encoding="utf-8")
    main(["check", "--format", "json", "kiln.md"])
    (told,) = json.loads(capsys.readouterr().out)["builds"]
    assert told["answers"]["gas_gets_there"] == {
        "word": "not known",
        "why": "a run has no size. What reaches Kiln is not known",
    }


def test_a_sentence_keeps_its_figures_until_somebody_shows_them() -> None:
    # 1 inH2O is 249.09 Pa.
    headline = Headline("yes", (AnswerFigure(2490.9, "supply pressure"), " at Stove"), "us")
    assert headline.why == "10 inH2O at Stove"
    assert plain(Quantities("us").sentence(headline.words)) == headline.why
