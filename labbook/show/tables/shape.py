"""What a table of the export is: columns with a type and a meaning, keys, and rows.

A row holds a value by the name of its column; a column without one is blank there, which means
"not written down". What a file holds as a quantity becomes three columns: the digits as typed, the
unit as typed, and the same amount in one unit for all, to reckon with.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from labbook.model.moments import Moment, day_of, write_moment
from labbook.model.quantities import Quantity
from labbook.show.safe_csv import kept_cell
from labbook.trade.exact import decimal_text

if TYPE_CHECKING:
    from labbook.show.tables.held import Held

Type = Literal["string", "integer", "number", "boolean", "date"]
"""A field's type, by the words of the Table Schema standard."""

Value = str | int | bool | Decimal | float | date | None
Row = Mapping[str, Value]


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its name, what it means, its type; private ones are written only when asked for."""

    name: str
    means: str
    type: Type = "string"
    private: bool = False


@dataclass(frozen=True, slots=True)
class Link:
    """A foreign key: columns here that, where they are filled, stand as the key of a table."""

    columns: tuple[str, ...]
    table: str
    to: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """One table; `rows` gives its rows in their stable order, one at a time."""

    name: str
    means: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    rows: Callable[[Held], Iterator[Row]]
    links: tuple[Link, ...] = ()

    def shown(self, *, private: bool) -> tuple[Column, ...]:
        """The columns that are written."""
        return tuple(one for one in self.columns if private or not one.private)


def link(column: str, table: str, to: str = "") -> Link:
    """A foreign key of one column."""
    return Link((column,), table, (to or column,))


# Quantities and moments -------------------------------------------------------------------------

_ONE_UNIT = {"mass": "g", "temperature": "°C", "time": "min", "length": "mm"}
_ENDING = {"mass": "g", "temperature": "c", "time": "min", "length": "mm"}


def measured(name: str, means: str, dimension: str) -> tuple[Column, ...]:
    """The three columns of a quantity; of one that may have any unit the first two."""
    as_typed = (
        Column(name, f"{means}: the figure as typed", "number"),
        Column(f"{name}_unit", f"the unit of {name} as typed"),
    )
    if not dimension:
        return as_typed
    unit = _ONE_UNIT[dimension]
    ending = _ENDING[dimension]
    return (*as_typed, Column(f"{name}_{ending}", f"{name} in {unit}, to 9 places", "number"))


def typed(name: str, quantity: Quantity | None) -> dict[str, Value]:
    """The cells of a quantity that may have any unit."""
    return {} if quantity is None else {name: quantity.value, f"{name}_unit": quantity.unit}


def amount(name: str, quantity: Quantity | None) -> dict[str, Value]:
    """The cells of a quantity of one dimension."""
    if quantity is None:
        return {}
    cells = typed(name, quantity)
    dimension = quantity.dimension
    if dimension in _ONE_UNIT:
        exact = quantity.exact(_ONE_UNIT[dimension])
        places = 9
        scaled = round(exact * 10**places)
        cells[f"{name}_{_ENDING[dimension]}"] = _without_zeros(Decimal(scaled).scaleb(-places))
    return cells


def _without_zeros(number: Decimal) -> Decimal:
    text = f"{number:f}"
    return Decimal(text.rstrip("0").rstrip(".") if "." in text else text)


def moment(name: str, means: str) -> tuple[Column, ...]:
    """The two columns of a time: as written, and its calendar day."""
    return (
        Column(name, f"{means}, ISO 8601: a time with its offset, or a day"),
        Column(f"{name}_on", f"the calendar day of {name}, in the offset written", "date"),
    )


def at(name: str, when: Moment | None) -> dict[str, Value]:
    """The cells of a time."""
    return {} if when is None else {name: write_moment(when), f"{name}_on": day_of(when)}


# Cells ------------------------------------------------------------------------------------------


def cell_text(column: Column, value: Value) -> str:
    """A cell of the CSV. Text is made safe for spreadsheets; a figure never begins a formula."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, float):
        return decimal_text_of(value)
    if isinstance(value, int | date):
        return str(value)
    if column.type != "string":
        raise TypeError(f"{column.name} is {column.type} and got {type(value).__name__}")
    return kept_cell(value)


def decimal_text_of(value: float) -> str:
    """A reckoned figure without an exponent and without `.0`."""
    from fractions import Fraction

    return decimal_text(Fraction(str(value)))


def cells(table: Table, row: Row, columns: Iterable[Column]) -> list[str]:
    """A row as the cells of the CSV.

    Raises:
        KeyError: the row has a value for a column that the table doesn't have.
    """
    unknown = row.keys() - {column.name for column in table.columns}
    if unknown:
        raise KeyError(f"{table.name} has no column {', '.join(sorted(unknown))}")
    return [cell_text(column, row.get(column.name)) for column in columns]
