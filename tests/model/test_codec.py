"""A record comes back from the index as it went in, without pydantic."""

import json
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from labbook.model.codec import from_json, to_json
from labbook.model.kinds import KINDS
from labbook.model.rules import LegalLimit
from tests.records import records


@pytest.mark.parametrize("name", KINDS)
@given(data=st.data())
@settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow])
def test_every_kind_of_record_comes_back_equal(name: str, data: st.DataObject) -> None:
    record: Any = data.draw(records(KINDS[name].record))
    stored = json.loads(json.dumps(to_json(record)))
    assert from_json(KINDS[name].record, stored) == record


@pytest.mark.parametrize("name", KINDS)
@given(data=st.data())
@settings(max_examples=10, suppress_health_check=[HealthCheck.too_slow])
def test_digits_stay_as_typed(name: str, data: st.DataObject) -> None:
    record: Any = data.draw(records(KINDS[name].record))
    stored = to_json(record)
    assert to_json(from_json(KINDS[name].record, stored)) == stored


def test_an_empty_list_that_the_record_asks_for_comes_back() -> None:
    limit = LegalLimit(
        name="l-1", region="anywhere", ingredients=(), highest=Decimal("1"), text="none",
        read=date(2026, 1, 1), source="invented",
    )  # fmt: skip
    assert from_json(LegalLimit, json.loads(json.dumps(to_json(limit)))) == limit
