"""From batches to factors: what can be the cause of a failure, and where each batch stands."""

from labbook.evidence.factors.asking import ask, horizons
from labbook.evidence.factors.formula import ask_formula
from labbook.evidence.factors.nine import QUESTIONS, Unanswered, unanswered
from labbook.evidence.factors.sharing import Common, Shared, SharedBy, shared
from labbook.evidence.factors.types import (
    WITHOUT_RULE,
    Event,
    Factor,
    Question,
    Seen,
    Side,
    Unrecorded,
)

__all__ = [
    "QUESTIONS",
    "WITHOUT_RULE",
    "Common",
    "Event",
    "Factor",
    "Question",
    "Seen",
    "Shared",
    "SharedBy",
    "Side",
    "Unanswered",
    "Unrecorded",
    "ask",
    "ask_formula",
    "horizons",
    "shared",
    "unanswered",
]
