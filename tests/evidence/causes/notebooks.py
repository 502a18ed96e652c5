"""Small notebooks for the reckoning, written in one line each and drawn at random."""

from __future__ import annotations

from hypothesis import strategies as st

from labbook.evidence.causes import Row, Suspect

SIDES = {"1": True, "0": False, "?": None}


def rows(text: str) -> tuple[Row, ...]:
    """Rows such as "11? failed, 000 intact": a side per suspect, then the outcome."""
    found = []
    for n, part in enumerate(text.split(",")):
        sides, outcome = part.split()
        assert outcome in ("failed", "intact")
        found.append(Row(f"b{n}", outcome == "failed", tuple(SIDES[x] for x in sides)))
    return tuple(found)


def suspects(*priors: float) -> tuple[Suspect, ...]:
    """Suspects with these chances, called a, b, c and so on."""
    return tuple(Suspect(chr(97 + i), p, ruled=p > 0.05) for i, p in enumerate(priors))


PRIORS = (0.01, 0.05, 0.1, 0.25, 0.5)


@st.composite
def notebooks(
    draw: st.DrawFn, *, most: int = 6, batches: int = 7, undecided: bool = True
) -> tuple[tuple[Suspect, ...], tuple[Row, ...]]:
    """Up to so many suspects and batches, with undecided sides among them."""
    k = draw(st.integers(1, most))
    sides = st.sampled_from((True, False, None) if undecided else (True, False))
    row = st.tuples(st.booleans(), st.tuples(*[sides] * k))
    made = draw(st.lists(row, max_size=batches))
    return (
        suspects(*draw(st.lists(st.sampled_from(PRIORS), min_size=k, max_size=k))),
        tuple(Row(f"b{n}", failed, values) for n, (failed, values) in enumerate(made)),
    )


RATES = st.sampled_from(("mixed", "always", "sometimes"))
OUTSIDE = st.sampled_from((0.0, 0.2, 0.5))
