"""Laws of reading tables: any table is a formula that can be read back, or says why it is none."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from hypothesis import example, given
from hypothesis import strategies as st

from labbook.model.grid import Cell, Grid
from labbook.model.results.importing import SheetRead
from labbook.model.sheets import Sheets
from labbook.notebook.emit import document
from labbook.notebook.snapshot import read_bytes
from labbook.trade.sheet_reading import Wish, read_sheet
from labbook.work.importing import formula_data, namer

NAME = namer(Sheets())
HEADS = [
    "Phase", "Ingredient", "INCI", "%", "g", "Amount", "oz", "parts", "Supplier", "Notes", "Cups",
    "Function", "weight (kg)", "",
]  # fmt: skip
NAMES = ["Water", "Aqua (Water)", "Glycerin", "honey", "Total", "Subtotal", "Phase B", "oil phase",
         "on top", "???", "Heat it to 70 C.", "Citric acid 20%", "A"]  # fmt: skip
AMOUNTS = ["70.4", "4,5", "0.5-1", "q.s.", "to 500 g", "½", "1,000", "12 g", "3 oz", "100", "<1",
           "..07", "qs to pH 5", "-3", "2 tsp", "5 %", "0", ""]  # fmt: skip
KINDS = st.sampled_from(["text", "text", "text", "number", "date", "formula", "error"])
WORDS = st.sampled_from([*HEADS, *NAMES, *AMOUNTS]) | st.text(max_size=12)
FIGURES = st.decimals(0, 999, places=2).map(lambda value: Cell(f"{value:f}", "number"))
CELLS = FIGURES | st.builds(lambda t, k: Cell(t, "text" if k == "number" else k), WORDS, KINDS)
ROWS = st.lists(CELLS, max_size=5).map(tuple)
GRIDS = st.lists(ROWS, max_size=9).map(lambda rows: Grid(file="odd.csv", rows=tuple(rows)))
TABLES = st.lists(
    st.tuples(st.sampled_from(["A", "B", ""]), st.sampled_from(NAMES), st.sampled_from(AMOUNTS)),
    min_size=1,
    max_size=8,
).map(
    lambda rows: Grid(
        file="table.csv",
        rows=(
            tuple(map(Cell, ("phase", "ingredient", "%"))),
            *(tuple(map(Cell, row)) for row in rows),
        ),
    )
)
WISHES = st.builds(
    Wish,
    st.sampled_from(["", "point", "comma"]),
    st.booleans(),
    st.sampled_from(["", "low", "middle", "high"]),
)


def percents(read: SheetRead) -> list[Decimal]:
    return [line.percent for line in read.lines if line.percent is not None]


NOTHING = Grid(
    file="nothing.csv",
    rows=(tuple(map(Cell, ("phase", "ingredient", "%"))), tuple(map(Cell, ("A", "Water", "0")))),
)


OTHER_UNIT = Grid(
    file="unit.csv",
    rows=(
        (Cell("ingredient"), Cell("%")),
        (Cell("Water"), Cell("12 g")),
        (Cell("Total"), Cell("5 %")),
    ),
)


@given(GRIDS | TABLES, WISHES)
@example(OTHER_UNIT, Wish())
@example(NOTHING, Wish(parts=True))
@example(NOTHING, Wish())
def test_any_table_is_read_or_says_why_not(grid: Grid, wish: Wish) -> None:
    read = read_sheet(grid, NAME, wish)
    if read.unclear:
        assert all(told.text for told in read.unclear)
        return
    assert read.lines
    assert all(line.percent is not None or line.qs or line.adjust for line in read.lines)
    data = formula_data(read, "OD", "Odd", "f-odd1", "") | {"emulsion": "gel"}
    held = read_bytes("formulas/OD.yaml", document(data).encode("utf-8"))
    if held.record is None:  # two q.s. lines, the same ingredient twice: the notebook says so
        assert held.problems
        return
    assert [line.percent for _, line in held.record.lines if isinstance(line.percent, Decimal)] == [
        line.percent
        for letter, _ in read.phases
        for line in read.lines
        if line.phase == letter and line.percent is not None
    ]


MASSES = st.lists(st.decimals("0.01", "900", places=2), min_size=1, max_size=12)


@given(MASSES, st.sampled_from(["g", "oz", "kg", "parts"]))
def test_shares_of_masses_add_up_to_100_whatever_the_unit(masses: list[Decimal], unit: str) -> None:
    rows = [(Cell(f"clay {n}"), Cell(f"{mass:f}")) for n, mass in enumerate(masses)]
    grid = Grid(file="t", rows=((Cell("ingredient"), Cell(unit)), *rows))
    read = read_sheet(grid, NAME, Wish("point"))
    assert not read.unclear
    assert sum(percents(read)) == 100
    total = sum(map(Fraction, masses))
    pairs = zip(percents(read), masses, strict=True)
    off = [abs(Fraction(p) - Fraction(m) / total * 100) for p, m in pairs]
    assert max(off) <= Fraction(len(masses), 100)  # the largest line takes what rounding leaves
    assert sorted(off)[-2:][0] <= Fraction(1, 200)


@given(MASSES, st.decimals("0.01", "900", places=2))
def test_what_stands_on_top_makes_all_shares_smaller(masses: list[Decimal], top: Decimal) -> None:
    rows = [(Cell(f"clay {n}"), Cell(f"{mass:f}")) for n, mass in enumerate(masses)]
    head = (Cell("ingredient"), Cell("g"))
    added = ((Cell("Total"), Cell(f"{sum(masses):f}")), (Cell("honey"), Cell(f"{top:f}")))
    read = read_sheet(Grid(file="t", rows=(head, *rows, *added)), NAME, Wish("point"))
    *base, last = read.lines
    assert last.on_top
    assert not any(line.on_top for line in base)
    share = Fraction(top) / (sum(map(Fraction, masses)) + Fraction(top)) * 100
    assert last.percent is not None
    assert abs(Fraction(last.percent) - share) <= Fraction(len(masses) + 1, 100)
    assert sum(percents(read)) == 100
