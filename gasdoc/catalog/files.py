"""The data files of the catalogue: what each has to look like, and reading them. `parts.yaml`, which projects have, too, is
read by `parts`."""

from __future__ import annotations

from functools import cache
from typing import Any

import yaml

from gasdoc import data
from gasdoc.forms import Form, Place, each, flag, many, maybe, number, one_of, quantity, row, text, under, words

_LENGTH, _PRESSURE, _POWER = (quantity(d) for d in ("length", "pressure", "power"))
_SHARE, _MASS, _STEP, _AIR = (quantity(d) for d in ("share", "mass", "temperature difference", "temperature"))
_SOURCE = {"source": text, "confirmed": text}  # which words it may be holds of every file, and `data` checks it
_CITATION = {"citation": text, "confirmed": text}
_POSITIVE = number(above=0)
_HEIGHT = one_of("low", "breathing", "high")


def _clock(node: yaml.Node, place: Place) -> None:
    hours, _, minutes = str(node.value).partition(":")
    if not (hours.isdecimal() and minutes.isdecimal() and int(hours) < 24 and int(minutes) < 60):
        raise place.wrong(node, "a time of day such as '06:30'")


def _each_of(*systems: str, form: Form) -> Form:
    return row(dict.fromkeys(systems, form))


def _grid(form: Form, columns: str, rows: str) -> Form:
    """A row that besides its form has as many cells in each of its `rows` as it has `columns`."""

    def check(node: yaml.Node, place: Place) -> None:
        form(node, place)
        cells = many(maybe(_POSITIVE), exactly=len(under(node, columns).value))
        each(cells, key=_POSITIVE)(under(node, rows), Place(place.file, f"'{rows}'"))

    return check


def _anything(node: yaml.Node, place: Place) -> None:
    """What only people read, or what is checked elsewhere."""


_FIGURE = row({"value": many(_MASS), "confirmed": text})
_WATER = row({"value": many(quantity("mass", "volume"), exactly=1), "confirmed": text})
_SIZE = row({"value": many(_LENGTH), "confirmed": text})
_FAMILY = {
    "title": text,
    "withdrawal": many(one_of("vapour", "liquid")),
    "orientation": many(one_of("upright", "horizontal")),
    "stays": one_of("removable", "either", "exchanged", "permanent"),
    "material": text,
    "filling": text,
    "filled_by": text,
    "filling_source": text,
    "filling_confirmed": text,
    "requalification": text,
    "load_rule": text,
}
_GRADE = {
    "names": many(text),
    "series": one_of("inch", "metric"),
    "smallest": _LENGTH,
    "largest": _LENGTH,
    "proof": _PRESSURE,
    "yield": _PRESSURE,
    "tensile": _PRESSURE,
    **_SOURCE,
}
_AREA = {"area": quantity("area"), "confirmed": text}
_SUPPORT = {"spacing": _LENGTH, **_SOURCE}
_DENSITIES = each(_POSITIVE, key=_POSITIVE)


def _threads(**own: Form) -> Form:
    return row({"formula": text, **_SOURCE, "threads": each(row({"diameter": _LENGTH, **own}, _AREA))})


_TABLE = row(
    {
        "id": text,
        "title": text,
        "material": text,
        "law": one_of("low", "high", "corrugated"),
        "source": row({"code": text, "edition": number(1900), "table": text}),
        "confirmed": text,
        "read": many(text),
        "units": row({"length": one_of("ft"), "capacity": one_of("thousand Btu/h")}),
        "conditions": row({"gas": text, "specific_gravity": _POSITIVE, "inlet": _PRESSURE, "drop": _PRESSURE}),
        "notes": many(text),
        "columns": many(
            row(
                {"size": text},
                {"bore_in": _POSITIVE, "od_in": _POSITIVE, "acr_size": maybe(text), "nominal": text, "sdr": _POSITIVE},
            )
        ),
        "rows": _anything,
    },
    {
        "fits": row(
            {
                "confirmed": text,
                "small_sizes": row({"under_ehd": _POSITIVE, "reach_ft": _POSITIVE}),
                "by_size": each(
                    row(
                        {
                            "a": _POSITIVE,
                            "b": _POSITIVE,
                            "cells": _POSITIVE,
                            "median_error_percent": number(0),
                            "max_error_percent": number(0),
                        }
                    )
                ),
            }
        )
    },
)

_FORMS: dict[str, Form] = {
    "tables": _grid(_TABLE, "columns", "rows"),
    "parts.yaml": _anything,
    "alarms.yaml": row(
        {
            "kinds": each(
                row(
                    {"name": text, "place": text, "height": many(_HEIGHT), **_SOURCE},
                    {"never": row({"heights": many(_HEIGHT), "why": text})},
                )
            ),
            "standards": many(row({"mark": text, "kinds": many(one_of("gas", "co", "smoke")), **_SOURCE})),
        }
    ),
    "appliances.yaml": row({"confirmed": text, "kinds": each(row({"least": _POWER, "most": _POWER, "note": text}))}),
    "instruments.yaml": row(
        {
            "gauges": many(
                row({"name": text, "from": _PRESSURE, "up_to": _PRESSURE, "step": _each_of("us", "si", form=_PRESSURE)})
            ),
            "thermometers": many(row({"name": text, "step": _each_of("us", "si", form=_STEP)})),
            "barometer": _PRESSURE,
        }
    ),
    "supports.yaml": row(
        {
            "moving": row(_SUPPORT),
            "materials": each(many(row(_SUPPORT, {"from": _LENGTH, "from_ehd": number(0)}))),
        }
    ),
    "table_index.yaml": many(row({"id": text, "material": text, "inlet": _PRESSURE, "drop": _PRESSURE})),
    "tools.yaml": row({"tools": many(row({"id": text, "name": text, "when": many(text), "why": text}))}),
    "day.yaml": row(
        {
            **_SOURCE,
            "kinds": each(row({"words": text}, {"at": many(_clock), "until": _clock, "all-day": flag})),
            "assumed_inlet": row({"value": _PRESSURE, "text": text, **_SOURCE}),
            "pigtail_loss": row({"value": _PRESSURE, "text": text, **_SOURCE}),
        }
    ),
    "mounting.yaml": row(
        {
            "clearances": many(
                row(
                    {
                        "measure": text,
                        "asks": text,
                        "limits": many(
                            row(
                                {"limit": _LENGTH, "practice": many(text), **_CITATION},
                                {"kind": one_of("cylinder", "tank"), "place": text},
                            ),
                            0,
                        ),
                    },
                    {"for": one_of("moves", "building")},
                )
            ),
            "ways": each(row({"name": text, "asks": text, **_SOURCE})),
            "beside": many(
                row(
                    {
                        "multiple": _POSITIVE,
                        "safety_factor": _POSITIVE,
                        "strength": one_of("proof", "tensile"),
                        "practice": many(text),
                        "asks": text,
                        **_CITATION,
                    }
                )
            ),
            "directions": each(many(one_of("forward", "rearward", "left", "right", "up", "down"))),
        }
    ),
    "stock.yaml": row(
        {
            "tubing": many(
                row(
                    {"material": text, "form": one_of("coil", "length"), "lengths": many(_LENGTH), **_SOURCE},
                    {"kind": text, "sizes": many(text), "units": one_of("us", "si")},
                )
            ),
            "connectors": many(row({"kind": text, "lengths": many(_LENGTH), "longest": _LENGTH, **_SOURCE})),
            "tails": _each_of("us", "si", form=row({"kind": text, **_SOURCE})),
            "allowances": many(row({"what": text, **_SOURCE}, {"share": _SHARE, "length": _LENGTH})),
            "spares": many(row({"what": text, "share": _SHARE, **_SOURCE})),
        }
    ),
    "openings.yaml": row(
        {
            "passages": each(
                row(
                    {
                        "lining": text,
                        "clearance": _LENGTH,
                        "lining_wall": _LENGTH,
                        "plate": flag,
                        "seal": words,
                        **_SOURCE,
                    }
                )
            ),
            "plate": row({"within": _LENGTH, "thickness": _LENGTH, "beyond": _LENGTH, **_SOURCE}),
            "saws": _each_of("us", "si", form=row({"sizes": many(_LENGTH), **_SOURCE})),
            "csst_outside": row({"values": each(_LENGTH), **_SOURCE}),
            "guards": many(
                row(
                    {
                        "id": text,
                        "where": one_of("moving", "standing"),
                        "per": one_of("length", "run"),
                        "if_needed": flag,
                        "name": text,
                        **_SOURCE,
                    },
                    {"family": text},
                )
            ),
        }
    ),
    "vaporisation.yaml": row(
        {
            "cylinder_100lb": _grid(
                row(
                    {
                        "title": text,
                        **_SOURCE,
                        "caution": text,
                        "columns_degF": many(number()),
                        "rows_lb": _anything,
                        "planning_rule": row({"text": text, "rate": _POWER, "air": _AIR, **_SOURCE}),
                    }
                ),
                "columns_degF",
                "rows_lb",
            ),
            "length_rule": row(
                {
                    "title": text,
                    **_SOURCE,
                    "basis": text,
                    "base_air": _AIR,
                    "floor": _AIR,
                    "multiplier": text,
                    "multiplier_confirmed": text,
                    "factors": each(_POSITIVE, key=_POSITIVE),
                }
            ),
            "storage_size": _grid(
                row(
                    {
                        "title": text,
                        **_SOURCE,
                        "note": text,
                        "columns_degF": many(number()),
                        "rows_ft3_per_h": _anything,
                    }
                ),
                "columns_degF",
                "rows_ft3_per_h",
            ),
            "draw_table": row(
                {"title": text, **_SOURCE, "note": text, "rows_kg": each(many(_POSITIVE, exactly=3), key=_POSITIVE)}
            ),
        }
    ),
    "bolts.yaml": row(
        {
            "grades": each(row(_GRADE, {"longest": _LENGTH, "longer_is": text})),
            "stress_area": row({"inch": _threads(per_inch=_POSITIVE), "metric": _threads(pitch=_LENGTH)}),
        }
    ),
    "containers.yaml": row(
        {
            "families": each(row(_FAMILY)),
            "requalification": each(
                row(
                    {"text": text, **_SOURCE},
                    {"first_years": _POSITIVE, "cautious_years": _POSITIVE, "later_years": each(_POSITIVE)},
                )
            ),
            "kinds": each(
                row(
                    {"family": text, "names": many(text)},
                    {
                        **_FAMILY,
                        "fuel": _FIGURE,
                        "water_capacity": _WATER,
                        "tare": _FIGURE,
                        "diameter": _SIZE,
                        "height": _SIZE,
                    },
                )
            ),
            "size_sources": each(text),
            "asme_estimates": row(
                {
                    **_SOURCE,
                    "note": text,
                    "published": _anything,
                    "columns": many(text, exactly=5),
                    "rows": many(many(_POSITIVE, exactly=5), 2),
                }
            ),
            "fill_limit": row(
                {
                    "by_volume": row({"value": _SHARE, **_SOURCE}),
                    "water": row({"value": _POSITIVE, "unit": text, **_SOURCE}),
                    "filling_density": row(
                        {
                            **_SOURCE,
                            "largest_of_first": quantity("volume"),
                            "up_to_1200_gal": _DENSITIES,
                            "over_1200_gal": _DENSITIES,
                        }
                    ),
                }
            ),
        }
    ),
}


def load(name: str) -> Any:
    """The content of a data file of the catalogue; treat it as read-only. Raises DataError where it is not of its form."""
    return data.load("gasdoc.catalog", name, _check("tables" if name.startswith("tables/") else name))


@cache
def _check(name: str) -> data.Check:
    def check(node: yaml.Node, file: str) -> None:
        _FORMS[name](node, Place(file))

    return check
