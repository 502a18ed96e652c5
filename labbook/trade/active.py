"""Active against supplied percent: 1 % active of a 60 % solution is 1.67 % of the bottle."""

from __future__ import annotations

from fractions import Fraction

from labbook.model.materials import Ingredient

WHOLE = Fraction(100)


def active_content(sheet: Ingredient | None) -> tuple[Fraction | None, str]:
    """A sheet's active content in percent by weight, or None and why there is none to use."""
    if sheet is None:
        return None, "the ingredient has no sheet"
    given = sheet.active_content
    if given is None:
        return None, "its sheet gives no active content"
    if given.unit not in (None, "%"):
        return None, f"its sheet gives the active content in {given.unit}, not in %"
    if given.value is None:
        return None, "its sheet gives a range as active content, not one value"
    if not 0 < given.value <= 100:
        return None, f"its sheet gives an active content of {given.value:f} %"
    return Fraction(given.value), ""


def as_supplied(active: Fraction, content: Fraction) -> Fraction:
    """How much of the material as supplied holds so much active; content in percent by weight.

    Raises:
        ValueError: a content that is not above 0 and at most 100.
    """
    _checked(content)
    return active / content * WHOLE


def as_active(supplied: Fraction, content: Fraction) -> Fraction:
    """How much active is in so much of the material as supplied; content in percent by weight.

    Raises:
        ValueError: a content that is not above 0 and at most 100.
    """
    _checked(content)
    return supplied * content / WHOLE


def _checked(content: Fraction) -> None:
    if not 0 < content <= WHOLE:
        raise ValueError(f"an active content of {float(content):g} % is none to reckon with")
