"""The command as its users run it: in a folder of its own, with a small spec to start from."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from small_project import HUT, Ran, Run, write

from gasdoc.cli.command import main
from gasdoc.machine import limited


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder, and we are in it."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def project(folder: Path) -> Path:
    """A folder with a configuration and one good spec."""
    (folder / "mkdocs.yml").write_text("site_name: Records\ndocs_dir: specs\nplugins: [gasdoc]\n", encoding="utf-8")
    write(folder, "test-hut", HUT)
    return folder


@pytest.fixture
def run(folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """The command in this process: exit code, standard output, standard error. It makes no copies of the process, which take as long
    as the work: test_limited, and every command in a process of its own, have them."""
    monkeypatch.setattr(limited, "can_copy", lambda: False)

    def call(*arguments: object) -> Ran:
        capsys.readouterr()
        try:
            code = main([str(argument) for argument in arguments])
        except SystemExit as exit_:  # argparse ends this way
            code = int(exit_.code or 0)
        out, err = capsys.readouterr()
        return code, out, err

    return call


@pytest.fixture
def command(folder: Path) -> Run:
    """The command in a process of its own, as a shell starts it."""

    def call(*arguments: object, stdin: bytes = b"") -> Ran:
        done = subprocess.run(
            [sys.executable, "-m", "gasdoc", *map(str, arguments)],
            cwd=folder,
            input=stdin,
            capture_output=True,
            check=False,
            env=os.environ | {"PYTHONWARNINGS": "error::ResourceWarning"},
            timeout=120,
        )
        return done.returncode, done.stdout.decode(), done.stderr.decode()

    return call
