"""new --from --at and compare, in a real repository."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from repository import EXAMPLE, Repository, Run


def head(path: Path) -> str:
    return path.read_text(encoding="utf-8").split("\n---\n")[0]


def test_a_new_build_names_the_commit_it_was_copied_from(builds: Repository, run: Run) -> None:
    code, _, _ = run("new", "next-hut", "--from", "hut")
    assert code == 0
    assert f"template: {{build: hut, revision: {builds.commits[1][:12]}}}" in head(builds.folder / "specs/next-hut.md")


def test_a_new_build_from_text_that_no_commit_has_names_none(builds: Repository, run: Run) -> None:
    builds.write("specs/hut.md", EXAMPLE.replace("length: 12 ft", "length: 25 ft"))
    run("new", "next-hut", "--from", "hut")
    text = head(builds.folder / "specs/next-hut.md")
    assert "template: {build: hut}" in text and "length: 25 ft" in text


def test_a_new_build_from_an_earlier_revision_has_what_stood_there_then(builds: Repository, run: Run) -> None:
    builds.git("tag", "v1", builds.commits[0])
    code, _, _ = run("new", "next-hut", "--from", "hut", "--at", "v1")
    text = head(builds.folder / "specs/next-hut.md")
    assert code == 0 and "length: 12 ft" in text and "length: 20 ft" not in text
    assert "template: {build: hut, revision: v1}" in text


def test_a_new_build_can_start_from_one_that_is_gone(builds: Repository, run: Run) -> None:
    (builds.folder / "specs/hut.md").unlink()
    builds.commit()
    code, _, _ = run("new", "next-hut", "--from", "hut", "--at", "HEAD~1")
    text = head(builds.folder / "specs/next-hut.md")
    assert code == 0 and "length: 20 ft" in text
    assert f"revision: {builds.commits[1][:12]}" in text  # HEAD~1 is another commit tomorrow


@pytest.mark.parametrize("revision", ["nope", "-x", "HEAD~9"])
def test_a_revision_that_is_none_is_refused_and_nothing_is_written(builds: Repository, run: Run, revision: str) -> None:
    code, out, err = run("new", "next-hut", "--from", "hut", f"--at={revision}")
    assert code == 2 and not out and f"'{revision}'" in err
    assert not (builds.folder / "specs/next-hut.md").exists()


def test_a_revision_outside_any_repository_is_refused(
    tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "specs").mkdir()
    (tmp_path / "specs" / "hut.md").write_text(EXAMPLE, encoding="utf-8")
    code, _, err = run("new", "next-hut", "--from", "hut", "--at", "HEAD")
    assert code == 2 and "not in a git repository" in err


def test_compare_two_revisions_of_one_build(builds: Repository, run: Run) -> None:
    code, out, err = run("compare", "hut@HEAD~1", "hut@HEAD")
    assert (code, err) == (0, "")
    at = out.splitlines().index("specs/hut.md@HEAD~1 -> specs/hut.md@HEAD")
    rest = out.splitlines()[at + 1 :]
    assert "run-heater: length 12 ft -> 20 ft" in rest[0]
    assert out.splitlines()[0].split() == ["hut@HEAD~1", "hut@HEAD"]
    assert any("longest path 20 -> 28 ft" in line for line in rest)


def test_compare_with_what_is_not_committed_yet(builds: Repository, run: Run) -> None:
    assert run("compare", "hut@HEAD")[1].splitlines()[-1] == "nothing that is compared differs"
    builds.write("specs/hut.md", EXAMPLE.replace("length: 12 ft", "length: 21 ft"))
    assert "length 20 ft -> 21 ft" in run("compare", "specs/hut.md@HEAD")[1]


def test_compare_two_builds_by_name_or_path(builds: Repository, run: Run) -> None:
    builds.write("specs/other.md", EXAMPLE.replace("18 kBtu/h", "28 kBtu/h"))
    one, other = run("compare", "hut@HEAD~1", "other"), run("compare", "specs/hut.md@HEAD~1", "specs/other.md")
    changes = "specs/hut.md@HEAD~1 -> specs/other.md\n"
    assert (one[0], other[0]) == (0, 0)
    assert one[1].partition(changes)[2] == other[1].partition(changes)[2] != ""
    assert "Cooktop (cooktop): input 18 kBtu/h -> 28 kBtu/h" in one[1]


def test_compare_as_json(builds: Repository, run: Run) -> None:
    code, out, _ = run("compare", "hut@HEAD~1", "--format", "json")
    found = json.loads(out)
    assert code == 0 and found["version"] == 2
    assert found["before"]["path"] == "specs/hut.md@HEAD~1" and found["after"]["path"] == "specs/hut.md"
    assert {"group", "subject", "name", "what", "before", "after", "subtract"} == set(found["changes"][0])


def test_three_stand_in_one_table_without_what_differs_one_by_one(builds: Repository, run: Run) -> None:
    builds.write("specs/other.md", EXAMPLE.replace("18 kBtu/h", "28 kBtu/h"))
    code, out, err = run("compare", "hut@HEAD~1", "hut", "other")
    assert (code, err) == (0, "") and out.splitlines()[0].split() == ["hut@HEAD~1", "hut", "other"]
    assert "the same in all of them:" in out and "->" not in out
    code, out, _ = run("compare", "hut@HEAD~1", "hut", "other", "--format", "json")
    found = json.loads(out)
    assert [one["path"] for one in found["builds"]] == ["specs/hut.md@HEAD~1", "specs/hut.md", "specs/other.md"]
    assert found["changes"] is None and all(len(row["values"]) == 3 for row in found["rows"])


def test_a_name_with_an_at_sign_is_a_file_first(builds: Repository, run: Run) -> None:
    builds.write("specs/a@HEAD", EXAMPLE)
    builds.write("specs/b.md", EXAMPLE)
    assert run("compare", "specs/a@HEAD", "b")[0] == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("hut",), "name a second spec, or a revision of this one, as in 'hut@HEAD'"),
        (("hut@nope",), "there is no revision 'nope' here"),
        (("hut@", "hut"), "is not a revision"),
        (("shed", "hut"), "there is no spec 'shed'"),
        (("hut",) * 10, "name two to 9 specs"),
        ((), "name two to 9 specs"),
        (("shed@HEAD", "hut"), "at revision 'HEAD'"),
    ],
)
def test_what_cannot_be_compared_is_refused_with_a_reason(
    builds: Repository, run: Run, arguments: tuple[str, ...], said: str
) -> None:
    code, out, err = run("compare", *arguments)
    assert code == 2 and out == "" and said in err


def test_a_side_that_cannot_be_taken_is_reported_with_its_revision(builds: Repository, run: Run) -> None:
    builds.commit(specs__hut=EXAMPLE.replace("title:", "titel:"))
    builds.write("specs/hut.md", EXAMPLE)
    code, out, err = run("compare", "hut@HEAD")
    assert code == 2 and out == "" and "specs/hut.md@HEAD:6:1: error: unknown key 'titel'" in err


def test_an_unknown_format_of_the_file_is_a_clear_error(builds: Repository, run: Run) -> None:
    builds.write("specs/hut.md", EXAMPLE.replace("format: 1", "format: 2"))
    code, out, _ = run("check", "--as-of", "2026-06-01", "specs/hut.md")
    assert code == 2
    assert "specs/hut.md:5:1: error: format '2' is not known to this version; this gasdoc reads 'format: 1'" in out


def test_check_for_a_forge_and_as_sarif(builds: Repository, run: Run) -> None:
    builds.write("specs/hut.md", EXAMPLE.replace("title:", "titel:"))
    code, out, _ = run("check", "--as-of", "2026-06-01", "--format", "github")
    assert code == 2 and out.startswith(
        "::error file=specs/hut.md,line=6,col=1,title=spec-unknown-key::unknown key 'titel'"
    )
    code, out, _ = run("check", "--as-of", "2026-06-01", "--format", "sarif")
    assert code == 2 and json.loads(out)["runs"][0]["results"][0]["ruleId"] == "spec-unknown-key"


def test_the_schema_is_printed_as_it_is_checked_in(run: Run) -> None:
    checked_in = Path(__file__).parent.parent.parent / "specs" / "schema" / "gasdoc-1.json"
    assert run("schema") == (0, checked_in.read_text(encoding="utf-8"), "")
