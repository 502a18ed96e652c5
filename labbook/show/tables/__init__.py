"""The notebook as tidy tables: one row one thing, keys that join, rows in a stable order.

`TABLES` is the whole list; `labbook.show.tables.package` describes them for programs (Table Schema)
and for people. The tables hold what stands after corrections; the first figures stand beside.
"""

from __future__ import annotations

from labbook.show.tables import batches, formulas, looking, making, materials
from labbook.show.tables.shape import Table

TABLES: tuple[Table, ...] = (
    *formulas.TABLES,
    *batches.TABLES,
    *making.TABLES,
    *looking.TABLES,
    *materials.TABLES,
)
