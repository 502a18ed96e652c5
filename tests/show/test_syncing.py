"""What `sync` says of the copy: it holds what the journal hides."""

import pytest

from labbook.model.results.syncing import Synced
from labbook.show.layout import Screen
from labbook.show.syncing import synced_screen


def said(**keys: object) -> str:
    return " ".join(synced_screen(Synced(**keys), Screen()).split())  # type: ignore[arg-type]


WORDS = "also what the journal leaves out"


@pytest.mark.parametrize(
    ("address", "server"),
    [
        ("ssh://potter@clay.example/notebook.git", True),
        ("potter@clay.example:notebook.git", True),
        ("clay:notebook.git", True),
        ("https://clay.example/notebook.git", True),
        ("/media/stick/notebook.git", False),
        ("../notebook.git", False),
        ("file:///media/stick/notebook.git", False),
        (r"E:\\notebook.git", False),
    ],
)
def test_a_copy_on_a_server_is_said_to_hold_everything(address: str, server: bool) -> None:
    assert (WORDS in said(remote="origin", address=address, sent=2)) is server
    assert WORDS not in said(remote="origin", address=address, sent=0)


def test_before_there_is_a_copy_it_is_said_what_it_will_hold() -> None:
    assert f"the copy holds everything, {WORDS}" in said(remote="", branch="main")
