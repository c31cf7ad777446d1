"""What stands around a drawing: its legend, where the directions point, the scale, and text in columns and lines."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from gasdoc import units
from gasdoc.report.drawings.line.labels import wide
from gasdoc.report.drawings.line.layout import Flat
from gasdoc.report.drawings.line.symbols import GAP, SIGNS, WORDS, bow, broken, sign, thing_sign, waves
from gasdoc.report.drawings.svg import tenth


def in_columns(texts: Sequence[str], width: float) -> Iterator[list[tuple[float, str]]]:
    """Texts row by row in as many columns as fit, each with how far to the right it begins; in order down each column."""
    column = max(map(wide, texts)) + 12
    rows = math.ceil(len(texts) / max(1, int(width // column)))
    for i in range(rows):
        yield [(k * column, text) for k, text in enumerate(texts[i::rows])]


def rose_signs(rose: Sequence[tuple[str, Flat]], x: float, y: float) -> str:
    """Where the directions point."""
    found = ""
    for word, (dx, dy) in rose:
        size = math.hypot(dx, dy)
        ux, uy = dx / size, dy / size
        end = (x + ux * 24, y + uy * 24)
        found += f'<path class="leader" d="M{tenth(x)} {tenth(y)}L{tenth(end[0])} {tenth(end[1])}"/>'
        found += sign("arrow", end, math.degrees(math.atan2(uy, ux)))
        reach = 9 + abs(ux) * wide(word) / 2 + abs(uy) * 4
        tx, ty = end[0] + ux * reach, end[1] + uy * reach + 4
        found += f'<text class="quiet" x="{tenth(tx)}" y="{tenth(ty)}" text-anchor="middle">{word}</text>'
    return found


IN_ORDER = (
    *("container", "regulator", "valve", "tap", "junction", "appliance", "connector", "loop", "sweep", "slant", "away"),
    *("apart", "passage", "arrow", "open", "room", "opening", "alarm"),
)


def entry_width(kind: str) -> float:
    """How wide an entry of the legend is, px."""
    return 60 + wide(WORDS[kind])


def legend_of(signs: Sequence[str], left: float, y: float, width: float) -> tuple[str, float]:
    """The signs that are used, with their words; and where it ends."""
    found, x = "", left
    for kind in signs:
        need = entry_width(kind)
        if x > left and x + need > width:
            x, y = left, y + 30
        found += sample_of(kind, x + 20, y) + f'<text x="{tenth(x + 44)}" y="{tenth(y + 4)}">{WORDS[kind]}</text>'
        x += need
    return found, y + 26


def sample_of(kind: str, x: float, y: float) -> str:
    """A sign as the legend has it, on a short piece of its line."""
    ends = (x - 18, y), (x + 18, y)
    if kind in ("container", "appliance", "away", "apart"):
        return sign(kind, (x, y))
    if kind == "slant":
        way = f'<path class="turns" d="M{tenth(x - 14)} {tenth(y + 7)}h28v-14"/>'
        return f'{way}<path class="pipe" d="{broken((x - 14, y + 7), (x + 14, y - 7), ())}"/>'
    if kind in ("opening", "alarm"):
        return thing_sign(kind, (x, y))
    if kind == "room":
        return f'<path class="room" d="M{tenth(x - 14)} {tenth(y - 8)}h28v16h-28Z"/>'
    if kind == "connector":
        return f'<path class="hose" d="{waves(*ends)}"/>'
    if kind == "sweep":
        return f'<path class="pipe" d="{bow(*ends)}"/>'
    dashed = " open" if kind == "open" else ""
    gaps = [(18.0, GAP[kind])] if kind in GAP else []
    line = f'<path class="pipe{dashed}" d="{broken(*ends, gaps)}"/>'
    return line + (sign(kind, (x, y)) if kind in SIGNS else "")


def scale_bar(scale: float, shown: units.System, x: float, y: float) -> str:
    """The scale bar: a round length of 60 to 160 px."""
    unit = 0.3048 if shown == "us" else 1.0
    round_ones = (0.25, 0.5, 1, 2, 5, 10, 20, 50)
    length = next((step for step in round_ones if step * unit * scale >= 60), round_ones[-1])
    px = length * unit * scale
    text = f"{length:g} {'ft' if shown == 'us' else 'm'}, to scale"
    line = f'<path class="pipe" d="M{tenth(x + 1)} {tenth(y)}v8m0 -4h{tenth(px)}m0 -4v8"/>'
    return f'{line}<text x="{tenth(x + px + 10)}" y="{tenth(y + 8)}">{text}</text>'


def wrapped(text: str, width: float) -> list[str]:
    """A text in lines that are no wider than so many px."""
    lines: list[str] = []
    for word in text.split():
        if lines and wide(f"{lines[-1]} {word}") * 0.92 <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
