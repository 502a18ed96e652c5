"""Cases from practice as small notebooks, with the verdict that their own later evidence gave.

The verdicts were written down from the cases before the program was asked. They hold with the
program's rules of the trade and without any. Convicted (`likely` at least) is what failed again
when it was done again, in two independent batches at least, while three without it held; one
failure beside one sister is `possible` at least; everything else is open.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from labbook.evidence.answer import answer
from labbook.evidence.book import Book
from labbook.evidence.causes import word
from labbook.evidence.factors import Question, ask, ask_formula
from labbook.model.errors import Unclear
from labbook.model.materials import Ingredient
from labbook.model.rulebook import RuleBook, rulebook_of
from labbook.model.rules import Rules
from labbook.model.sheets import Sheets
from labbook.notebook.validate import read_file
from labbook.rules.starters import starter_names, starter_text
from labbook.rules.trade import rule_texts
from tests.cases.build import batch_id, book_of, lines_of
from tests.cases.verdicts import KEYS, ORDER, Held

HERE = Path(__file__).parent
FILES = tuple(sorted(HERE.glob("*.yaml")))
NAMES = [file.stem for file in FILES]


@cache
def case_of(name: str) -> Mapping[str, Any]:
    """A case, every scalar as the text that stands there."""
    found: Mapping[str, Any] = YAML(typ="base", pure=True).load(
        (HERE / f"{name}.yaml").read_text(encoding="utf-8")
    )
    return found


@cache
def starters() -> Sheets:
    """The program's ingredient sheets."""
    found: dict[str, Ingredient] = {}
    for name in starter_names():
        read = read_file((starter_text(name) or "").encode(), f"ingredients/{name}.yaml")
        assert isinstance(read.record, Ingredient)
        found[name] = read.record
    return Sheets(found)


@cache
def rules() -> RuleBook:
    """The program's rules of the trade."""
    read = [read_file(text.encode(), f"rules/{name}") for name, text in rule_texts().items()]
    return rulebook_of(one.record for one in read if isinstance(one.record, Rules))


ASKED = [
    pytest.param(name, number, id=f"{name}-{number}")
    for name in NAMES
    for number, _ in enumerate(case_of(name)["asked"], 1)
]


def book_for(case: Mapping[str, Any], verdict: Mapping[str, Any]) -> Book:
    """The notebook of a case on the day of one of its questions."""
    on = date.fromisoformat(verdict["on"]) if "on" in verdict else None
    return book_of(case, starters(), rules(), on)


def question_of(case: Mapping[str, Any], verdict: Mapping[str, Any]) -> Question:
    """One question of a case, asked."""
    book = book_for(case, verdict)
    where = {key: verdict[key] for key in ("condition", "group") if key in verdict}
    if "formula" in verdict:
        return ask_formula(book, verdict["formula"], **where)
    pair = [batch_id(case, verdict[key]) for key in ("failed", "good") if key in verdict]
    return ask(book, *pair, **where)


def held_of(
    case: Mapping[str, Any], verdict: Mapping[str, Any], flat: bool, before: Sequence[Held] = ()
) -> Held:
    """The answer to one question of a case."""
    question = question_of(case, verdict)
    if "failed" in verdict:
        assert question.failed == batch_id(case, verdict["failed"]), "another one is the failed one"
    why = answer(question, case["formula"]["code"], flat=flat)
    return Held(question, why, flat=flat, before=before)


@pytest.mark.parametrize("flat", [False, True], ids=["rules", "flat"])
@pytest.mark.parametrize(("name", "number"), ASKED)
def test_the_answer_says_what_the_case_says(name: str, number: int, flat: bool) -> None:
    case = case_of(name)
    verdict = case["asked"][number - 1]
    if "refused" in verdict:
        with pytest.raises(Unclear, match=verdict["refused"]):
            question_of(case, verdict)
        return
    earlier = case["asked"][: int(verdict.get("no surer than", 0))]
    before = [held_of(case, one, flat) for one in earlier]
    held = held_of(case, verdict, flat, before)
    departures = held.departures(verdict if flat else {**verdict, **verdict.get("with rules", {})})
    assert not departures, "\n".join([*departures, held.table()])


@pytest.mark.parametrize("name", NAMES)
def test_no_word_is_bolder_than_the_reckoning(name: str) -> None:
    case = case_of(name)
    for verdict in case["asked"]:
        if "refused" not in verdict:
            for told in answer(question_of(case, verdict), "").suspects:
                assert ORDER.index(told.word) <= max(1, ORDER.index(word(told.chance)))


@pytest.mark.parametrize("name", NAMES)
def test_a_case_is_whole(name: str) -> None:
    case = case_of(name)
    assert case["source"].startswith(("after a ", "common practice, no source"))
    assert len(case["told"].split()) >= 20
    assert all(set(verdict) <= KEYS for verdict in case["asked"])
    for told in case["batches"].values():
        lines = lines_of(case, told.get("lines", {}))
        assert all(float(percent) > 0 for _, percent in lines.values())
        known = set(starters().by_file) | set(case.get("sheets", {}))
        assert set(lines) <= known, set(lines) - known
        lots = {**case.get("usual", {}).get("lots", {}), **told.get("lots", {})}
        assert all(case["lots"][lot]["ingredient"] == name for name, lot in lots.items())


def test_the_cases_are_of_all_kinds() -> None:
    asked = [(name, verdict) for name in NAMES for verdict in case_of(name)["asked"]]
    kinds = Counter(key for _, verdict in asked for key in verdict)
    assert len(NAMES) >= 20
    wanted = KEYS - {"not yet"}
    assert all(kinds[key] for key in wanted), [key for key in wanted if not kinds[key]]
    emulsions = {case_of(name)["formula"]["emulsion"] for name in NAMES}
    assert {"water-in-oil", "oil-in-water", "anhydrous"} <= emulsions
