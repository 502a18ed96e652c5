"""The reckoning of causes: which differences explain the failures, and which batch would tell.

Knows suspects (a key and a chance) and rows (an outcome and sides), and nothing of batches, sheets
or words of the trade. Everything is integrated in closed form; nothing is drawn at random.
"""

from labbook.evidence.causes.counting import (
    CleanPair,
    Counts,
    clean_pairs,
    counts,
    speaking_sessions,
)
from labbook.evidence.causes.exact_test import ExactTest, exact_tests, one_sided_exact
from labbook.evidence.causes.next_batch import Gain, Outlook, after, best_settings, gains
from labbook.evidence.causes.posterior import Reckoning, reckon
from labbook.evidence.causes.telling import cleared, figure, held, not_told_apart, word
from labbook.evidence.causes.types import RATES, Rate, Row, Suspect, capped

__all__ = [
    "RATES",
    "CleanPair",
    "Counts",
    "ExactTest",
    "Gain",
    "Outlook",
    "Rate",
    "Reckoning",
    "Row",
    "Suspect",
    "after",
    "best_settings",
    "capped",
    "clean_pairs",
    "cleared",
    "counts",
    "exact_tests",
    "figure",
    "gains",
    "held",
    "not_told_apart",
    "one_sided_exact",
    "reckon",
    "speaking_sessions",
    "word",
]
