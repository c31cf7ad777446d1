"""What rows of the catalogue's data files are made of: quantities by their dimension, and where a row comes from."""

from collections.abc import Mapping, Sequence
from typing import Annotated, TypeVar

from msgspec import field

from gasdoc import data
from gasdoc.data import Entry
from gasdoc.scalars import Bounds, Quantity, choice, problem
from gasdoc.source import CONFIRMED, Citation
from gasdoc.units import Given

Length = Annotated[Given, Quantity(("length",))]
Area = Annotated[Given, Quantity(("area",))]
Volume = Annotated[Given, Quantity(("volume",))]
Mass = Annotated[Given, Quantity(("mass",))]
Pressure = Annotated[Given, Quantity(("pressure",))]
Strength = Annotated[Given, Quantity(("pressure",), most=1e10)]
Power = Annotated[Given, Quantity(("power",))]
Share = Annotated[Given, Quantity(("share",))]
Temperature = Annotated[Given, Quantity(("temperature",), least=None)]
Step = Annotated[Given, Quantity(("temperature difference",))]
Time = Annotated[Given, Quantity(("time",), above=True)]
Positive = Annotated[float, Bounds(gt=0)]
Confirmed = Annotated[str, choice(*CONFIRMED)]


class Sourced(Entry, frozen=True):
    """A row that says where it comes from, under `source`, and how well that is confirmed."""

    cited: str = field(name="source")
    confirmed: Confirmed

    @property
    def source(self) -> Citation:
        """The source, with how well it is confirmed."""
        return Citation(self.cited, self.confirmed)


def hold_full(columns: Sequence[object], rows: Mapping[float, Sequence[object]], key: str) -> None:
    """Raise the problem with a row of a table, under `key`, that has not one cell for each column."""
    for name, cells in rows.items():
        if len(cells) != len(columns):
            message = f"this row has {len(cells)} cells, and the table {len(columns)} columns"
            raise problem("data-table", message, "give it one cell for each column", at=(key, f"{name:g}"))


_EntryT = TypeVar("_EntryT", bound=Entry)


def read(name: str, model: type[_EntryT]) -> _EntryT:
    """A data file of the catalogue. Raises DataError with file, line and column."""
    found: _EntryT = data.read("gasdoc.catalog", name, model)
    return found
