"""What a batch of the notebook was really made of."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from labbook.model.batch import Batch
from labbook.model.results.actual import ActualRow, MadeOf, VesselRow
from labbook.trade.actual import ActualComposition, actual_composition
from labbook.trade.exact import to_decimal, to_places
from labbook.work.bench import Bench


def actual_of(bench: Bench, batch: Batch) -> ActualComposition:
    """What came out of the vessel, with the batches that went in and the notebook's balances."""
    from labbook.model.quantities import QuantityError
    from labbook.trade.balance import balance_of

    snapshot = bench.snapshot
    tool = snapshot.equipment.get(snapshot.settings.defaults.balance or "")
    try:
        usual = None if tool is None else balance_of(tool)
    except QuantityError:  # `check` says so
        usual = None
    return actual_composition(
        batch,
        snapshot.sheets,
        batches=snapshot.batches,
        equipment=snapshot.equipment,
        balance=usual,
    )


FINE = 6
"""Decimals of a percent or a mass as JSON: finer than any balance at a bench."""


def made_of(bench: Bench, batch: Batch) -> MadeOf:
    """The same as a result for screens and JSON."""
    found = actual_of(bench, batch)
    return MadeOf(
        rows=tuple(
            ActualRow(
                phase=one.phase,
                ingredient=one.ingredient,
                target=None if one.target is None else to_decimal(one.target),
                actual=to_places(one.percent, FINE),
                uncertainty=to_places(Fraction(one.uncertainty), FINE),
                qs=one.qs,
            )
            for one in found.lines
        ),
        missing=found.missing,
        vessels=tuple(
            VesselRow(
                phase=one.phase,
                evaporated=_grams(one.evaporated),
                returned=_grams(one.returned),
                residue=_grams(one.residue),
                unexplained=_grams(one.unexplained),
            )
            for one in found.vessels
        ),
        put_in=_grams(found.put_in),
        returned=_grams(found.returned),
        evaporated=_grams(found.evaporated),
        residue=_grams(found.residue),
        final=_grams(found.final),
        weighed_out=found.weighed_out,
        unexplained=None if found.unexplained is None else _grams(found.unexplained),
        notes=tuple(f"{one.what}; {one.mend}" if one.mend else one.what for one in found.problems),
    )


def _grams(mass: Fraction) -> Decimal:
    return to_decimal(Fraction(to_places(mass, FINE)))
