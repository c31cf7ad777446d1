"""What tells that builds have to be made again."""

from __future__ import annotations

import os
from pathlib import Path

from gasdoc.host.serving import stamps


def test_another_price_of_the_same_length_is_told_though_the_clock_of_the_disk_did_not_move(tmp_path: Path) -> None:
    prices = tmp_path / "prices.yaml"
    prices.write_text("items: {thread-sealant: 7.40}", encoding="utf-8")
    os.utime(prices, ns=(1, 1))
    before = stamps([prices])
    with prices.open("r+", encoding="utf-8") as there:  # the same file on disk
        there.write("items: {thread-sealant: 8.40}")
    os.utime(prices, ns=(1, 1))
    assert stamps([prices]) != before


def test_a_template_behind_a_linked_folder_is_told_and_a_circle_of_links_ends(tmp_path: Path) -> None:
    own, shared = tmp_path / "site_templates", tmp_path / "shared"
    own.mkdir()
    shared.mkdir()
    (own / "shared").symlink_to(shared, target_is_directory=True)
    (shared / "back").symlink_to(own, target_is_directory=True)
    (shared / "note.html").write_text("one", encoding="utf-8")
    before = stamps([own])
    (shared / "note.html").write_text("two", encoding="utf-8")
    assert stamps([own]) != before


def test_a_file_that_is_no_file_and_one_that_is_not_there_are_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "parts.yaml")
    assert stamps([tmp_path / "parts.yaml", tmp_path / "prices.yaml"])


def test_what_python_compiles_beside_the_data_is_no_other_data(tmp_path: Path) -> None:
    (tmp_path / "parts.yaml").write_text("x", encoding="utf-8")
    before = stamps([tmp_path])
    (tmp_path / "__pycache__").mkdir()
    (tmp_path / "__pycache__" / "parts.yaml.rows").write_text("x", encoding="utf-8")
    assert stamps([tmp_path]) == before
