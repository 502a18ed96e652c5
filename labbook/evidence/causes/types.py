"""What the reckoning is told: suspects with their chances, and rows with outcomes and sides."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

__all__ = ["RATES", "Rate", "Row", "Suspect", "capped", "checked"]

Rate = Literal["mixed", "always", "sometimes"]
"""How often a true cause acts: nearly always, in about half the cases, or either, half and half."""

RATES: dict[Rate, tuple[tuple[float, float, float], ...]] = {
    "always": ((1.0, 9.0, 1.0),),
    "sometimes": ((1.0, 2.0, 2.0),),
    "mixed": ((0.5, 9.0, 1.0), (0.5, 2.0, 2.0)),
}
"""Weight and the two parameters of each Beta distribution of the rate with a cause present."""

MOST_WITHOUT_RULE = 0.3
MOST_OF_ALL = 1.5
MOST_ROWS = 1000
"""Beyond it binomial coefficients leave the range of a float (C(1030, 515) is above 1e308)."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """A factor that may be a cause, with its chance before the rows are looked at.

    `ruled`: a rule of the trade speaks of it. The chance is at least 0 and below 1.
    """

    key: str
    prior: float
    ruled: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One independent batch: did it fail, and on which side of each suspect it stands.

    A side is True where the batch is like the failed one, False where like the good one, None where
    that can't be decided. Outcomes that can't be decided are no rows.
    """

    name: str
    failed: bool
    sides: tuple[bool | None, ...]


def capped(suspects: Iterable[Suspect]) -> tuple[Suspect, ...]:
    """Suspects with chances scaled down so that few causes are expected beforehand.

    At most 0.3 causes over the suspects that no rule speaks of, then at most 1.5 over all. Keeps
    the order; a sum below its cap stays as it is.
    """
    given = tuple(suspects)
    without = sum(s.prior for s in given if not s.ruled)
    scale = min(1.0, MOST_WITHOUT_RULE / without) if without else 1.0
    first = tuple(s if s.ruled else replace(s, prior=s.prior * scale) for s in given)
    everything = sum(s.prior for s in first)
    scale = min(1.0, MOST_OF_ALL / everything) if everything else 1.0
    return tuple(replace(s, prior=s.prior * scale) for s in first)


def checked(suspects: Sequence[Suspect], rows: Sequence[Row], outside: float) -> None:
    """Refuse what can't be reckoned with.

    Raises ValueError, naming the suspect or row, for a chance outside [0, 1), a row with more or
    fewer sides than suspects, or more than 1000 rows.
    """
    for suspect in suspects:
        if not 0 <= suspect.prior < 1:
            raise ValueError(f"{suspect.key}: the chance {suspect.prior} is not within [0, 1)")
    if not 0 <= outside < 1:
        raise ValueError(f"something not recorded: the chance {outside} is not within [0, 1)")
    for row in rows:
        if len(row.sides) != len(suspects):
            raise ValueError(
                f"{row.name}: {len(row.sides)} sides for {len(suspects)} suspects; "
                "each row needs one side per suspect"
            )
    if len(rows) > MOST_ROWS:
        raise ValueError(f"{len(rows)} rows; at most {MOST_ROWS} can be reckoned with")
