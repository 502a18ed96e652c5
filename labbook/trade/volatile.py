"""What of a material can leave an open pot: what its sheet calls volatile, else its water."""

from __future__ import annotations

from fractions import Fraction

from labbook.model.sheets import Sheets
from labbook.trade.between import figure_between
from labbook.trade.water import water_content

_ALL = Fraction(100)


def volatile_share(name: str, sheets: Sheets) -> Fraction:
    """How much of a material is volatile, as a share of it from 0 to 1.

    The sheet's volatile content counts first, then its water; the middle of a range. Where nobody
    says either, nothing of it is taken to leave.
    """
    sheet = sheets.find(name)
    if sheet is None:
        return Fraction()
    found = figure_between(sheet.volatile_content)
    if found is not None and (found.least < 0 or found.most > _ALL):
        found = None
    if sheet.volatile_content is None or found is None:
        found = water_content(sheet, sheets)
        if found.least == 0 and found.most == _ALL:
            return Fraction()
    return (found.least + found.most) / 2 / _ALL
