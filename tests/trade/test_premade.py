"""Which batches a line is offered as its premix, and how much of each is the ingredient."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from labbook.model.batch import Batch, BatchLine, Dropped, Weighing
from labbook.model.materials import Ingredient
from labbook.model.sheets import Sheets
from labbook.trade.premade import FEW_LINES, MOST, premade
from tests.trade.making import PIN, grams

SHEETS = Sheets(
    {
        "gum-stock": Ingredient(id="gum-stock", functions=("premix",)),
        "water": Ingredient(id="water", functions=("water",)),
    }
)
OWN = replace(PIN, id="f-other", code="SBW")


def batch(id_: str, *weights: tuple[str, str], own: bool = False) -> Batch:
    """A batch of ingredients with what was weighed of each; `own` is of the cream's formula."""
    return Batch(
        id=id_,
        state="closed",
        made=date(2026, 1, int(id_.split("-")[1][-2:])),
        formula=PIN if own else OWN,
        size=grams("100"),
        lines=tuple(
            BatchLine(id=f"a{n}", phase="A", ingredient=name, sheet=name, percent=Decimal(20))
            for n, (name, _) in enumerate(weights)
        ),
        weighings=tuple(
            Weighing(id=f"w{n}", line=f"a{n}", mass=grams(mass))
            for n, (_, mass) in enumerate(weights)
            if mass
        ),
    )


CREAM = batch("SBC-260120-4M", ("water", ""), ("benzoate", ""), ("gum-stock", ""), own=True)
SOLUTION = batch("SBW-260105-1A", ("water", "40"), ("benzoate", "10"))


def offered(line: str, *others: Batch, cream: Batch = CREAM) -> list[tuple[str, Fraction | None]]:
    held = {one.id: one for one in (cream, *others)}
    return [(one.batch.id, one.holds) for one in premade(cream, held, SHEETS)[line]]


def test_a_solution_is_offered_where_it_holds_the_ingredient() -> None:
    """10 g in 50 g are 20 %."""
    assert offered("a1", SOLUTION) == [(SOLUTION.id, Fraction(20))]
    assert offered("a0", SOLUTION) == [(SOLUTION.id, Fraction(80))]
    assert offered("a1", batch("SBW-260105-1A", ("water", "40"), ("salt", "10"))) == []


def test_it_holds_what_it_was_made_of_else_what_was_planned() -> None:
    never_weighed = batch("SBW-260105-1A", ("water", ""), ("benzoate", ""))
    assert offered("a1", never_weighed) == [(never_weighed.id, Fraction(20))]


def test_a_line_that_is_the_premix_itself_takes_the_whole() -> None:
    assert offered("a2", SOLUTION) == [(SOLUTION.id, Fraction(100))]


def test_a_cream_is_no_premix() -> None:
    many = [("benzoate", "1"), *((f"oil-{n}", "1") for n in range(FEW_LINES))]
    assert offered("a1", batch("SBC-260105-1A", *many)) == []
    assert offered("a1", batch("SBC-260105-1A", *many[:FEW_LINES])) != []
    assert offered("a1", batch("SBC-260105-1A", *many[:2], own=True)) == []


def test_what_was_used_as_one_is_offered_again() -> None:
    many = batch("SBX-260105-1A", *((f"oil-{n}", "1") for n in range(9)))
    used = replace(
        batch("SBC-260110-2B", ("benzoate", "")),
        weighings=(Weighing(id="w1", line="a0", mass=grams("2"), batch=many.id),),
    )
    assert (many.id, Fraction(100)) in offered("a1", many, used)


def test_no_dropped_batch_and_not_itself_and_the_latest_first() -> None:
    some = [replace(SOLUTION, id=f"SBW-2601{n:02}-1A", made=date(2026, 1, n)) for n in range(1, 13)]
    dropped = replace(some[-1], dropped=Dropped(why="spilt", time=date(2026, 1, 13)))
    found = [id_ for id_, _ in offered("a1", *some[:-1], dropped)]
    assert found == [one.id for one in some[-2::-1]][:MOST]
