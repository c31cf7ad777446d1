"""What has changed since a record was made is looked up in git, and told by check and in the JSON of a study."""

from __future__ import annotations

import json

from repository import EXAMPLE, Repository, Run

from gasdoc.build.codes import codes
from gasdoc.build.reader import read_spec

TEST = """\
fitted: 2026-04-01
tests:
  - date: 2026-05-02
    kind: piping
    covers: {covers}
    readings: [{{time: '10:00', pressure: 3 psi}}, {{time: '10:30', pressure: 3 psi}}]
supply:
"""


def tightness(text: str) -> str:
    found = read_spec(text.encode(), "hut.md", "hut").build
    assert found is not None
    return codes(found).tightness


def test_the_keys_that_changed_since_a_stale_record_are_told_with_what_they_were(builds: Repository, run: Run) -> None:
    covers = tightness(EXAMPLE.replace("length: 12 ft", "length: 20 ft"))
    now = EXAMPLE.replace("length: 12 ft", "length: 23 ft").replace("supply:\n", TEST.format(covers=covers))
    builds.write("specs/hut.md", now)
    wanted = [{"key": "run-heater.length", "before": "20 ft", "after": "23 ft"}]
    _, out, _ = run("study", "specs/hut.md")
    assert json.loads(out)["changed"] == wanted
    _, _, err = run("check", "specs/hut.md", "--as-of", "2026-11-01")
    assert "run-heater.length: 20 ft -> 23 ft" in err
    _, out, _ = run("check", "specs/hut.md", "--as-of", "2026-11-01", "--format", "json")
    assert json.loads(out)["builds"][0]["changed"] == wanted


def test_where_git_never_saw_what_was_tested_nothing_is_said(builds: Repository, run: Run) -> None:
    builds.write("specs/hut.md", EXAMPLE.replace("supply:\n", TEST.format(covers="gt1-0123456789ab")))
    _, out, _ = run("study", "specs/hut.md")
    assert json.loads(out)["changed"] == []


def test_where_no_record_is_stale_git_is_not_asked(builds: Repository, run: Run, monkeypatch: object) -> None:
    covers = tightness(EXAMPLE)
    builds.write("specs/hut.md", EXAMPLE.replace("supply:\n", TEST.format(covers=covers)))
    _, out, _ = run("study", "specs/hut.md")
    assert json.loads(out)["changed"] == []


def test_the_page_of_the_tests_shows_them(builds: Repository, run: Run) -> None:
    covers = tightness(EXAMPLE.replace("length: 12 ft", "length: 20 ft"))
    now = EXAMPLE.replace("length: 12 ft", "length: 23 ft").replace("supply:\n", TEST.format(covers=covers))
    builds.write("specs/hut.md", now)
    assert run("build", "-q")[0] == 0
    page = (builds.folder / "site" / "hut" / "leak-test.html").read_text(encoding="utf-8").replace("\xa0", " ")
    table = page.partition("What has changed since a record was made")[2].partition("</table>")[0]
    assert "run-heater.length" in table and table.index("20 ft") < table.index("23 ft")
