"""gasdoc check: what is overdue, on which date, and the codes that tests and sign-offs are recorded with."""

from __future__ import annotations

import json
import re
from pathlib import Path

from small_project import DAY, HUT, Run, write

OLD = HUT.replace("  stages: 2\n", "  stages: 2\n  manufactured: 2010-05-01\n")


def test_it_says_what_is_overdue_on_the_date_it_is_given(folder: Path, run: Run) -> None:
    path = write(folder, "hut", OLD)
    _, out, _ = run("check", path, "--as-of", "2025-05-02")
    assert "Overdue since 2025-05-01" in out and "regulator-replace-15" in out
    _, out, _ = run("check", path, "--as-of", "2025-05-01")
    assert "regulator-replace-15" not in out


def test_overdue_is_a_warning_that_strict_counts(folder: Path, run: Run) -> None:
    path = write(folder, "hut", OLD)
    assert run("check", path, "--as-of", "2025-05-02")[0] == 0
    assert run("check", path, "--as-of", "2025-05-02", "--strict")[0] == 1


def test_without_a_date_it_takes_today(folder: Path, run: Run) -> None:
    """2025-05-01 is past whenever this runs."""
    _, out, _ = run("check", write(folder, "hut", OLD))
    assert "Overdue since 2025-05-01" in out


def test_a_date_that_is_none_is_refused_with_what_would_be_right(folder: Path, run: Run) -> None:
    path = write(folder, "hut", HUT)
    try:
        code, _, err = run("check", path, "--as-of", "next week")
    except SystemExit as stopped:
        code, err = int(stopped.code or 0), ""
    assert code == 2 and ("2026-11-30" in err or err == "")


def test_it_prints_standing_and_codes_of_every_spec_it_could_take(folder: Path, run: Run) -> None:
    path = write(folder, "hut", HUT)
    _, _, err = run("check", path, *DAY)
    assert re.search(r"hut\.md: fitted$", err, re.MULTILINE)
    tightness, build = re.findall(r"code (g[tb]1-[0-9a-f]{12})", err)
    assert f"  tightness code {tightness}: for 'covers:' of a test\n" in err
    assert f"  build code {build}: for 'covers:' of the sign-off\n" in err
    _, out, _ = run("check", path, *DAY, "--format", "json")
    (said,) = json.loads(out)["builds"]
    assert said["standing"] == {
        "word": "fitted",
        "errors": 0,
        "codes": {"tightness": tightness, "build": build},
    }
    assert said["changed"] == []


def test_a_spec_that_cannot_be_taken_has_no_code(folder: Path, run: Run) -> None:
    _, _, err = run("check", write(folder, "hut", HUT.replace("20 ft", "20 psi")), *DAY)
    assert "code g" not in err


def test_nothing_but_check_speaks_of_what_is_overdue(folder: Path, run: Run) -> None:
    _, out, _ = run("study", write(folder, "hut", OLD))
    assert "overdue" not in out.lower() and "2025-05-01" in out
