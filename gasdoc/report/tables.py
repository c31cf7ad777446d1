"""Tables as CSV files."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence


def to_csv(header: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """UTF-8 with CRLF line ends, and text that a spreadsheet would take for a formula defused (common practice)."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(header)
    for row in rows:
        writer.writerow([_plain(cell) for cell in row])
    return out.getvalue().encode("utf-8")


def _plain(cell: object) -> object:
    if isinstance(cell, str) and cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")):
        return "'" + cell
    return cell
