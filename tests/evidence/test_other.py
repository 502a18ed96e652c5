"""Words, limits and unknown keys: compared as plain data, types in lists too, lists by id."""

from labbook.evidence.difference import difference
from labbook.evidence.other import OtherChange, compared
from labbook.model.formula import Limit
from labbook.model.quantities import parse_quantity as q
from labbook.model.sheets import Sheets
from tests.evidence.pairs import formula


def test_a_type_that_changes_inside_a_list_is_reported() -> None:
    # qlustered/deepdiff#605: handed over as it is, [2] against [2.0] and [True] against [1] are
    # found equal.
    for before, after in ((2, 2.0), (True, 1), ("2", 2), (None, "null")):
        found = compared({"mine": [before]}, {"mine": [after]})
        assert [(one.path, one.before, one.after) for one in found] == [
            (("mine", "0"), before, after)
        ]
    assert compared({"mine": [1, True, None]}, {"mine": [1, True, None]}) == ()


def test_lists_of_entries_are_matched_by_id() -> None:
    old = {"trials": [{"id": "t1", "x": "1"}, {"id": "t2", "x": "2"}]}
    new = {"trials": [{"id": "t2", "x": "3"}, {"id": "t1", "x": "1"}]}
    assert compared(old, new) == (OtherChange(("trials", "t2", "x"), "2", "3"),)


def test_limits_are_matched_by_condition_and_unknown_keys_kept() -> None:
    a = formula({"A": "water qs"}, acceptance=(Limit(condition="room", until=q("90 d")),))
    b = formula({"A": "water qs"}, acceptance=(Limit(condition="room", until=q("60 d")),))
    extra = ({"shelf": ["blue"]}, {"shelf": ["blue", "red"]})
    found = difference(a, b, Sheets(), a_name="HC@1", b_name="HC@2", extra=extra)
    assert [one.to_plain() for one in found.other] == [
        {"what": "acceptance room until", "from": "90 d", "to": "60 d"},
        {"what": "shelf 1", "from": None, "to": "red"},
    ]
    assert not found.lines
