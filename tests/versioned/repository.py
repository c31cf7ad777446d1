"""Real git repositories in temporary folders, for tests."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
EXAMPLE = (ROOT / "gasdoc" / "project_files" / "example-hut.md").read_text(encoding="utf-8")
CONFIG = "site_name: Records\nsite_url: https://example.org/builds/\ndocs_dir: specs\nuse_directory_urls: false\nplugins: [gasdoc]\n"

Run = Callable[..., tuple[int, str, str]]

WHO = {
    "GIT_AUTHOR_NAME": "A Builder",
    "GIT_AUTHOR_EMAIL": "builder@example.org",
    "GIT_COMMITTER_NAME": "A Builder",
    "GIT_COMMITTER_EMAIL": "builder@example.org",
    "GIT_CONFIG_GLOBAL": os.devnull,
    "GIT_CONFIG_NOSYSTEM": "1",
}


class Repository:
    """A git repository whose commits are a day apart, from 2026-01-01, noon UTC on."""

    def __init__(self, folder: Path, branch: str = "main") -> None:
        self.folder = folder
        self.commits: list[str] = []
        folder.mkdir(parents=True, exist_ok=True)
        self.git("init", "--quiet", "--initial-branch", branch)

    def git(self, *arguments: str, **environment: str) -> str:
        done = subprocess.run(
            ["git", "-C", str(self.folder), *arguments],
            env=os.environ | WHO | environment,
            check=True,
            capture_output=True,
            text=True,
        )
        return done.stdout.strip()

    def write(self, name: str, text: str) -> Path:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return path

    def commit(self, **files: str) -> str:
        """Write files (`specs__hut` is specs/hut.md), commit everything, and return the hash."""
        for name, text in files.items():
            self.write(name.replace("__", "/").replace("_", "-") + ".md", text)
        when = f"2026-01-{len(self.commits) + 1:02}T12:00:00+00:00"
        self.git("add", "--all")
        self.git(
            "commit",
            "--quiet",
            "--allow-empty",
            "--message",
            f"commit {len(self.commits) + 1}",
            GIT_AUTHOR_DATE=when,
            GIT_COMMITTER_DATE=when,
        )
        self.commits.append(self.git("rev-parse", "HEAD"))
        return self.commits[-1]
