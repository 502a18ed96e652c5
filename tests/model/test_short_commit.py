"""A commit's id, as short as a person may type it."""

from labbook.model.ids import short_commit


def test_a_commit_is_named_by_more_than_digits() -> None:
    assert short_commit("3f9c21e" + "0" * 33) == "3f9c21e"
    assert short_commit("460343321b" + "0" * 30) == "460343321b"
    assert short_commit("1" * 40) == "1" * 40
