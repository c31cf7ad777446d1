"""A repository of builds, and the command in it."""

from __future__ import annotations

from pathlib import Path

import pytest
from repository import CONFIG, EXAMPLE, Repository, Run

from gasdoc.cli.command import main
from gasdoc.machine import limited


@pytest.fixture
def builds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Repository:
    """specs/hut.md, committed twice: the heater's run is 12 ft long at first, then 20 ft. We are in its folder."""
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    made = Repository(tmp_path / "builds")
    made.write("mkdocs.yml", CONFIG)
    made.write(".gitignore", "site/\n")
    made.commit(specs__hut=EXAMPLE)
    made.commit(specs__hut=EXAMPLE.replace("length: 12 ft", "length: 20 ft"))
    monkeypatch.chdir(made.folder)
    return made


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """The command: exit code, standard output, standard error. It makes no copies of the process, which take as long
    as the work: test_limited, and every command in a process of its own, have them."""
    monkeypatch.setattr(limited, "can_copy", lambda: False)

    def call(*arguments: object) -> tuple[int, str, str]:
        capsys.readouterr()
        code = main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return call
