"""gasdoc check: every problem at once, in its place, with the exit code that says what kind it is."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from small_project import DAY, HUT, Run, write

LINE = re.compile(
    r"^(?P<path>[^:]+):(?P<line>\d+):(?P<column>\d+): (?P<severity>error|warning|note): .+ \[[a-z0-9-]+\]$"
)


def line_of(text: str, what: str) -> int:
    return text[: text.index(what)].count("\n") + 1


def test_a_clean_spec_ends_with_0_and_gives_notes_at_most(folder: Path, run: Run) -> None:
    code, out, err = run("check", *DAY, write(folder, "hut", HUT))
    assert code == 0 and all(": note: " in problem for problem in out.splitlines()) and err.startswith("1 spec: ")


def test_a_valid_spec_with_an_error_of_its_numbers_ends_with_1(folder: Path, run: Run) -> None:
    path = write(folder, "hut", HUT.replace("input: 30 kBtu/h", "input: 140 kBtu/h"))  # the cell is 129
    code, out, err = run("check", *DAY, path)
    assert code == 1 and "[run-undersized]" in out and "[regulator-too-small]" in out and "error" in err


def test_input_that_cannot_be_taken_ends_with_2(folder: Path, run: Run) -> None:
    for wrong in (
        HUT.replace("region: us-cabin", "regoin: us-cabin"),
        HUT.replace("length: 20 ft", "length: 20"),
        HUT.replace("20 ft", "20 psi"),
        HUT.replace("title: Test Hut", "title: [Test Hut"),
        HUT.replace("type: dot-100lb", "type: dot-100-lb"),
        HUT.replace("format: 1", "format: 2"),
    ):
        code, out, _ = run("check", *DAY, write(folder, "hut", wrong))
        assert code == 2 and ": error: " in out, wrong[:200]


def test_2_outweighs_1_over_several_specs_and_a_good_one_does_not_help(folder: Path, run: Run) -> None:
    good = write(folder, "a", HUT)
    weak = write(folder, "b", HUT.replace("30 kBtu/h", "140 kBtu/h"))
    bad = write(folder, "c", HUT.replace("format: 1\n", "format: 1\nformat: 1\n"))
    assert run("check", *DAY, good)[0] == 0 and run("check", *DAY, good, weak)[0] == 1
    assert run("check", *DAY, bad, weak, good)[0] == 2 and run("check", *DAY, weak, bad)[0] == 2


def test_an_unknown_key_gets_its_place_and_the_nearest_key(folder: Path, run: Run) -> None:
    text = HUT.replace("  orientation: upright", "  orientaton: upright")
    code, out, _ = run("check", *DAY, write(folder, "hut", text))
    (problem,) = out.splitlines()
    assert code == 2
    assert problem.startswith(
        f"{Path.cwd() / 'specs/hut.md'}:{line_of(text, 'orientaton')}:3: error: unknown key 'orientaton'"
    )
    assert "did you mean 'orientation'?" in problem and problem.endswith("[spec-unknown-key]")


def test_all_problems_come_at_once_sorted_by_line_in_the_promised_form(folder: Path, run: Run) -> None:
    text = (
        HUT.replace("altitude: 0 ft", "altitude: 0")
        .replace("orientation: upright", "orientation: sideways")
        .replace("capacity: 100 kBtu/h", "capacity: 100 mbar")
        .replace("length: 20 ft", "lenght: 20 ft")
        .replace("daily_use: 2 h", "daily_use: often")
    )
    code, out, _ = run("check", *DAY, write(folder, "hut", text))
    found = [LINE.match(problem) for problem in out.splitlines()]
    assert code == 2 and len(found) == 5 and all(found), out
    lines = [int(match["line"]) for match in found if match]
    assert lines == [line_of(text, w) for w in ("altitude: 0", "sideways", "100 mbar", "lenght", "often")]
    assert lines == sorted(lines)


def test_findings_and_warnings_of_one_spec_are_sorted_by_line_too(folder: Path, run: Run) -> None:
    text = HUT.replace("size: 1/2 in nominal", "size: 1/2 in").replace("material: copper, type: K", "material: csst")
    text = (
        text.replace("        flue: room-sealed\n", "")
        .replace("place: outdoors", "place: inside")
        .replace("stages: 2", "stages: 1")
    )
    _, out, _ = run("check", *DAY, write(folder, "hut", text))
    lines = [int(match["line"]) for match in map(LINE.match, out.splitlines()) if match]
    assert len(lines) == len(out.splitlines()) >= 4 and lines == sorted(lines)


def test_an_ambiguous_copper_size_prints_both_readings_and_their_capacities_and_ends_with_2(
    folder: Path, run: Run
) -> None:
    text = HUT.replace("1/2 in nominal", "1/2 in")
    code, out, _ = run("check", *DAY, write(folder, "hut", text))
    (problem,) = out.splitlines()
    assert code == 2 and f":{line_of(text, '1/2 in,')}:" in problem
    # IFGC 2018 Table 402.4(30), 20 ft: 3/8 nominal (1/2 OD) 64, 1/2 nominal 129.
    assert re.search(r"3/8 in nominal[^;]*: 64 kBtu/h", problem) and re.search(
        r"1/2 in nominal[^;]*: 129 kBtu/h", problem
    )


def test_a_trade_size_of_corrugated_tubing_is_a_warning_and_no_more(folder: Path, run: Run) -> None:
    text = HUT.replace("material: copper, type: K, size: 1/2 in nominal", "material: csst, size: 1/2 in")
    code, out, _ = run("check", *DAY, write(folder, "hut", text))
    assert code == 0 and ": warning: " in out and "EHD 18" in out and "smaller" in out


# Defect: --strict looks at findings only, not at warnings about the input.
def test_strict_counts_a_warning_about_the_input_too(folder: Path, run: Run) -> None:
    text = HUT.replace("material: copper, type: K, size: 1/2 in nominal", "material: csst, size: 1/2 in")
    assert run("check", *DAY, "--strict", write(folder, "hut", text))[0] != 0


def test_strict_counts_warnings_of_the_numbers(folder: Path, run: Run) -> None:
    path = write(folder, "hut", HUT.replace("stages: 2", "stages: 1"))
    assert run("check", *DAY, path)[0] == 0 and run("check", *DAY, "--strict", path)[0] == 1


def test_without_a_name_it_takes_every_spec_of_the_folder_specs(folder: Path, run: Run) -> None:
    write(folder, "a", HUT)
    write(folder, "b", HUT)
    write(folder, "guide", "---\npage: yes\n---\n# A page that is no spec\n")
    code, _, err = run("check", *DAY)
    assert code == 0 and err.startswith("2 specs: ")


def test_without_any_spec_it_says_how_to_start_one(folder: Path, run: Run) -> None:
    code, out, err = run("check", *DAY)
    assert code == 2 and out == "" and "gasdoc new" in err


def test_a_spec_outside_any_project_is_checked_by_its_path(
    folder: Path, run: Run, tmp_path_factory: pytest.TempPathFactory
) -> None:
    away = tmp_path_factory.mktemp("elsewhere") / "odd name.md"
    away.write_text(HUT, encoding="utf-8")
    assert not (folder / "mkdocs.yml").exists()
    assert run("check", *DAY, away)[0] == 0


@pytest.mark.parametrize(
    "made",
    [
        lambda text: b"\xef\xbb\xbf" + text.encode(),
        lambda text: text.replace("\n", "\r\n").encode(),
        lambda text: b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode(),
        lambda text: text.replace("\n", "\r").encode(),
    ],
    ids=["mark", "crlf", "mark and crlf", "cr"],
)
def test_marks_and_line_ends_of_other_editors_change_nothing(
    folder: Path, run: Run, made: Callable[[str], bytes]
) -> None:
    plain, wrong = HUT, HUT.replace("orientation: upright", "orientaton: upright")
    assert run("check", *DAY, write(folder, "hut", made(plain)))[0] == 0
    expected = run("check", *DAY, write(folder, "hut", wrong))
    assert run("check", *DAY, write(folder, "hut", made(wrong))) == expected


def test_as_json_the_same_problems_have_fields(folder: Path, run: Run) -> None:
    text = HUT.replace("altitude: 0 ft", "altitude: 0").replace("orientation: upright", "orientaton: upright")
    path = write(folder, "hut", text)
    plain_code, plain, _ = run("check", *DAY, path)
    code, out, _ = run("check", *DAY, path, "--format", "json")
    made = json.loads(out)
    assert code == plain_code == 2 == made["exit_code"] and made["version"] == 2
    for problem, printed in zip(made["problems"], plain.splitlines(), strict=True):
        assert set(problem) >= {"path", "line", "column", "severity", "message", "hint", "code"}
        assert printed.startswith(
            f"{problem['path']}:{problem['line']}:{problem['column']}: {problem['severity']}: {problem['message']}"
        )
    clean = json.loads(run("check", *DAY, write(folder, "hut", HUT), "--format", "json")[1])
    assert clean["exit_code"] == 0 and {p["severity"] for p in clean["problems"]} <= {"note"}


GARBAGE: dict[str, bytes] = {
    "empty": b"",
    "dashes": b"---\n",
    "no end": b"---\nformat: 1\n",
    "only front": b"---\nformat: 1\n---",
    "binary": bytes(range(256)) * 8,
    "latin": "---\nformat: 1\ntitle: Hütte\n---\n".encode("latin-1"),
    "utf16": HUT.encode("utf-16"),
    "nul": HUT.replace("Test Hut", "Test\0Hut").encode(),
    "list": b"---\n- format: 1\n---\n",
    "scalar": b"---\nformat\n---\n",
    "alias": b"---\nformat: 1\na: &a [x]\nb: *a\n---\n",
    "bomb": b"---\nformat: 1\na: &a [x,x]\nb: &b [*a,*a]\nc: &c [*b,*b]\nd: [*c,*c]\n---\n",
    "recursive": b"---\nformat: 1\na: &a [*a]\n---\n",
    "merge": b"---\nformat: 1\n<<: {a: b}\n---\n",
    "tag": b"---\nformat: !!python/object:os.system 1\n---\n",
    "deep": b"---\nformat: 1\nsupply: " + b"[" * 5000 + b"]" * 5000 + b"\n---\n",
    "deep maps": b"---\nformat: 1\nsupply: " + b"{a: " * 3000 + b"x" + b"}" * 3000 + b"\n---\n",
    "null everywhere": b"---\nformat: 1\ntitle:\nregion:\ncontainer:\nregulator:\nsupply:\nspaces:\ntests:\n---\n",
    "wrong shapes": b"---\nformat: 1\ntitle: [a]\nregion: {a: b}\ncontainer: x\nregulator: []\n"
    b"supply: {}\nspaces: 3\ntests: x\n---\n",
    "keys that are lists": b"---\nformat: 1\n? [a, b]\n: c\n---\n",
    "number keys": b"---\nformat: 1\n1: 2\ntrue: false\n~: x\n---\n",
    "two documents": b"---\nformat: 1\n--- \nformat: 1\n---\n",
    "tabs": b"---\nformat: 1\n\ttitle: x\n---\n",
    "surrogate": b'---\nformat: 1\ntitle: "\\ud800"\n---\n',
    "long line": b"---\nformat: 1\ntitle: " + b"x" * 200_000 + b"\n---\n",
    "big": HUT.encode() + b"x" * 1_100_000,
    "numbers": HUT.replace("20 ft", "1e400 ft").replace("30 kBtu/h", "9" * 400 + " kBtu/h").encode(),
    "nan": HUT.replace("20 ft", "nan ft").replace("30 kBtu/h", "inf kBtu/h").encode(),
    "tiny": HUT.replace("20 ft", "1e-300 ft").encode(),
    "huge in Europe": HUT.replace("us-cabin", "eu").replace("20 ft", "1e300 m").encode(),
    "huge": HUT.replace("20 ft", "1e300 ft").replace("30 kBtu/h", "1e200 W").encode(),
    "tiny load": HUT.replace("30 kBtu/h", "1e-300 W").encode(),
    "huge pressure": HUT.replace("outlet: 11 inH2O", "outlet: 1e9 psi").encode(),
    "tiny pressure": HUT.replace("outlet: 11 inH2O", "outlet: 1e-9 Pa").encode(),
    "plastic": HUT.replace("material: copper, type: K, size: 1/2 in nominal", "material: pe, size: 1/2 in").encode(),
    "odd size": HUT.replace("1/2 in nominal", "' '").encode(),
    "odd size 2": HUT.replace("1/2 in nominal", "1/0 in OD").encode(),
    "high place": HUT.replace("altitude: 0 ft", "altitude: 9000 m").replace("20 degF", "-55 degC").encode(),
    "unicode": HUT.replace("Test Hut", "\u202e\u0000"[:1] + "tuH").encode(),
    "strange addresses": (HUT + "\n![x](http://[) [y](//[) ![z](" + "a" * 5000 + ")\n").encode(),
    "day that is none": HUT.replace("2026-05-01", "2026-02-30").encode(),
}


def test_no_input_whatever_ends_in_a_traceback(folder: Path, command: Run) -> None:
    # Defect: "plastic", whose material is no condition of the cautions.
    paths = [write(folder, name.replace(" ", "-"), raw) for name, raw in GARBAGE.items()]
    directory = folder / "specs" / "directory.md"
    directory.mkdir()
    code, out, err = command("check", *DAY, *paths, directory, folder / "nowhere.md")
    assert "Traceback" not in err and "Traceback" not in out, err[-2000:]
    assert code == 2
    for problem in out.splitlines():
        assert LINE.match(problem), problem
    for path in (directory, folder / "nowhere.md"):
        assert f"{path}:1:1: error: " in out


@pytest.mark.parametrize("name", GARBAGE)
def test_each_input_gives_problems_or_a_study_and_never_an_exception(folder: Path, run: Run, name: str) -> None:
    path = write(folder, "x", GARBAGE[name])
    code, out, _ = run("check", *DAY, path)
    assert code in (0, 1, 2) and (code == 0) == (": error: " not in out)
    assert run("study", path)[0] == code


def test_study_prints_json_and_ends_as_check_does(folder: Path, run: Run) -> None:
    code, out, err = run("study", write(folder, "hut", HUT), "--format", "json")
    made = json.loads(out)
    assert code == 0 and err == "" and made["study"]["build"]["slug"] == "hut"
    assert made["study"]["build"]["region"]["id"] == "us-cabin"
    assert run("study", write(folder, "hut", HUT.replace("30 kBtu/h", "140 kBtu/h")))[0] == 1
    code, out, err = run("study", write(folder, "hut", HUT.replace("region:", "regoin:")))
    assert code == 2 and out == "" and "regoin" in err


def test_check_loads_nothing_heavy(folder: Path) -> None:
    path = write(folder, "hut", HUT)
    heavy = "{'pint', 'numpy', 'scipy', 'mkdocs', 'jinja2', 'markdown', 'graphviz', 'fluids', 'CoolProp', "
    heavy += "'gasdoc.choices.choices'}"
    code = (
        f"import sys; from gasdoc.cli.command import main; c = main(['check', {str(path)!r}]); "
        f"print(sorted({heavy} & set(sys.modules))); sys.exit(c)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout.strip().splitlines()[-1]) == (0, "[]"), done.stderr


def test_a_reader_who_goes_away_is_no_error(folder: Path) -> None:
    path = write(folder, "hut", HUT.replace("region:", "regoin:"))
    pipe = f"{sys.executable} -m gasdoc check {path} {path} | true"
    done = subprocess.run(["bash", "-o", "pipefail", "-c", pipe], capture_output=True, text=True, check=False)
    assert "Traceback" not in done.stderr and "BrokenPipe" not in done.stderr, done.stderr


def test_a_folder_is_checked_whole_and_one_without_specs_is_told(project: Path, run: Run) -> None:
    assert run("check", "specs", *DAY) == run("check", *DAY)
    (project / "empty").mkdir()
    code, out, err = run("check", "empty")
    assert (code, out) == (2, "") and "there is no spec in the folder empty" in err
