"""A site that is served at home answers what was meant for it, and nothing else."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

import pytest
from small_project import HUT, write

from gasdoc.host.serving import guarded, is_open


def asked(path: str = "/", name: str | None = "127.0.0.1:8000", host: str = "127.0.0.1") -> str:
    """The status of the answer to a request."""
    said: list[str] = []

    def start(status: str, _headers: Any) -> None:
        said.append(status)

    def app(_request: dict[str, Any], begin: Any) -> list[bytes]:
        begin("200 OK", [])
        return [b""]

    request = {"PATH_INFO": path} | ({"HTTP_HOST": name} if name is not None else {})
    list(guarded(app, host)(request, start))
    (status,) = said
    return status


@pytest.mark.parametrize(
    "name",
    ["127.0.0.1:8000", "localhost:8000", "localhost", "[::1]:8000", "192.168.1.7:8000", socket.gethostname(), None],
)
def test_a_request_for_this_machine_is_answered(name: str | None) -> None:
    assert asked(name=name) == "200 OK"


@pytest.mark.parametrize(
    "name", ["evil.example:8000", "evil.example", "127.0.0.1.evil.example", "localhost.evil.example:80", "x:y"]
)
def test_a_name_that_somebody_else_leads_here_is_refused(name: str) -> None:
    assert asked(name=name) == "403 Forbidden"
    assert asked(name=name, host=name.partition(":")[0]) == "200 OK" or name == "x:y"


def test_a_name_that_no_file_can_have_is_not_found() -> None:
    assert asked("/\0") == "404 Not Found"


def test_which_hosts_others_can_reach() -> None:
    assert [
        is_open(host) for host in ("127.0.0.1", "::1", "localhost", "0.0.0.0", "::", "192.168.1.7", "box")
    ] == [  # that is the question
        False,
        False,
        False,
        True,
        True,
        True,
        True,
    ]


def status(address: str, name: str) -> int:
    request = urllib.request.Request(address, headers={"Host": name})  # our own server
    try:
        with urllib.request.urlopen(request, timeout=10) as answer:  # our own server
            return int(answer.status)
    except urllib.error.HTTPError as error:
        return error.code


def test_a_server_refuses_other_names_survives_a_lost_configuration_and_leaves_nothing(tmp_path: Path) -> None:
    write(tmp_path, "test-hut", HUT)
    (tmp_path / "mkdocs.yml").write_text("site_name: R\ndocs_dir: specs\nplugins: [gasdoc]\n", encoding="utf-8")
    temporary = tmp_path / "tmp"
    temporary.mkdir()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with (tmp_path / "said").open("wb") as said:
        server = subprocess.Popen(
            [sys.executable, "-m", "gasdoc", "serve", "--address", f"127.0.0.1:{port}"],
            cwd=tmp_path,
            stdout=said,
            stderr=said,
            env=os.environ | {"TMPDIR": str(temporary)},
        )
        try:
            address = f"http://127.0.0.1:{port}/"
            end = time.monotonic() + 60
            while True:
                try:
                    assert status(address, f"127.0.0.1:{port}") == 200
                    break
                except OSError:
                    assert time.monotonic() < end and server.poll() is None
                    time.sleep(0.2)
            assert status(address, "evil.example") == 403 and status(f"{address}%00", f"127.0.0.1:{port}") == 404
            (tmp_path / "mkdocs.yml").unlink()
            while "Config file" not in (text := (tmp_path / "said").read_text(encoding="utf-8")):
                assert time.monotonic() < end and server.poll() is None, text
                time.sleep(0.2)
        finally:
            server.send_signal(signal.SIGTERM)
            server.wait(30)
    text = (tmp_path / "said").read_text(encoding="utf-8")
    assert "Traceback" not in text and "Config file" in text
    assert list(temporary.iterdir()) == []
