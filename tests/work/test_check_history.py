"""`check --history`: what some commit did, also where nothing of it is left to see today."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from labbook.model.problems import Problem, Severity
from labbook.work.bench import Bench
from labbook.work.check import check
from labbook.work.check_history import check_history
from labbook.work.note import note
from labbook.work.save import undo
from tests.notebook.repos import commit, git_says, put, run_git
from tests.work.driver_places import plain_git
from tests.work.notebooks import PATH, Small


def beyond(small: Small) -> dict[str, Problem]:
    """What history tells beyond the plain check, by rule."""
    plain = {problem.rule for problem in check(Bench(small.root)).problems}
    found = check_history(Bench(small.root)).problems
    return {problem.rule: problem for problem in found if problem.rule not in plain}


def by_hand(small: Small, path: str, old: str, new: str) -> str:
    """An edit of one place and its commit."""
    file = small.root / path
    text = file.read_text(encoding="utf-8")
    changed, count = re.subn(old, new, text, count=1, flags=re.DOTALL)
    assert count == 1, (path, old, text)
    put(small.root, path, changed)
    return commit(small.root, "by hand")


def put_back(small: Small, path: str) -> str:
    """The file as it was before the last commit, in a commit of its own."""
    run_git(small.root, "checkout", "--quiet", "HEAD~1", "--", path)
    return commit(small.root, "back again")


def test_a_notebook_made_by_the_program_has_nothing_to_tell(small: Small) -> None:
    result = check_history(Bench(small.root))
    assert beyond(small) == {}
    assert result.commits == int(git_says(small.root, "rev-list", "--count", "HEAD"))


def test_a_closed_batch_that_was_changed_and_put_back_is_told(small: Small) -> None:
    path = small.path(small.first)
    did = by_hand(small, path, r"mass: 4\.50 g", "mass: 4.60 g")
    assert "closed-batch-changed-once" not in beyond(small)  # plain `check` names that commit
    put_back(small, path)
    assert not any(p.severity is Severity.ERROR for p in check(Bench(small.root)).problems)
    found = beyond(small)["closed-batch-changed-once"]
    assert (found.commit, found.severity) == (did, Severity.NOTE)
    assert "4.50 g" in found.what and "4.60 g" in found.what and "put back" in found.what


def test_a_correction_that_was_taken_out_and_put_back_is_told(small: Small) -> None:
    path = small.path(small.first)
    did = by_hand(small, path, r"corrections:.*\Z", "")
    put_back(small, path)
    assert beyond(small)["entry-lost"].commit == did


def test_an_entry_that_an_open_batch_lost_is_told(small: Small) -> None:
    path = small.path(small.second)
    note(Bench(small.root), small.open, ["pH 5.0"])
    path = small.path(small.open)
    did = by_hand(small, path, r"readings:\n.*?(?=\n\S|\Z)", "")
    found = beyond(small)["entry-lost"]
    assert (found.commit, found.severity) == (did, Severity.WARNING)
    put_back(small, path)
    assert beyond(small)["entry-lost"].severity is Severity.NOTE


def test_what_undo_took_back_is_no_loss(small: Small) -> None:
    note(Bench(small.root), small.open, ["pH 5.0"])
    undo(Bench(small.root))
    assert beyond(small) == {}


def test_a_look_that_was_taken_out_and_put_back_is_told(small: Small) -> None:
    path = small.path(small.first, "stability.yaml")
    did = by_hand(
        small, path, r"\n  - \{id: \"?o2\b[^\n]*|\n  - id: \"?o2\b.*?(?=\n  -|\n\S|\Z)", ""
    )
    put_back(small, path)
    assert beyond(small)["entry-lost"].commit == did


def test_a_pin_that_was_changed_and_put_back_is_told(small: Small) -> None:
    path = small.path(small.first)
    did = by_hand(small, path, r"digest: \"?[0-9a-f]{64}\"?", f'digest: "{"0" * 64}"')
    put_back(small, path)
    found = beyond(small)
    assert found["pin-changed"].commit == did
    assert found["pin-digest-differs"].commit == did


def test_a_pin_to_a_content_that_is_nowhere_is_told(small: Small) -> None:
    path = small.path(small.first)
    by_hand(small, path, r"digest: \"?[0-9a-f]{64}\"?", f'digest: "{"0" * 64}"')
    did = by_hand(small, path, r"blob: \"?[0-9a-f]{40}\"?", f'blob: "{"1" * 40}"')
    put_back(small, path)
    assert beyond(small)["pin-without-content"].commit == did


def test_a_number_that_went_back_and_forth_is_told(small: Small) -> None:
    did = by_hand(small, PATH, r"version: 3", "version: 2")
    put_back(small, PATH)
    assert beyond(small)["number-set-back"].commit == did


def test_git_revert_takes_number_and_content_back_together(small: Small) -> None:
    by_hand(small, PATH, r"title: [^\n]*", "title: Another title")
    run_git(small.root, "revert", "--no-edit", "HEAD")
    assert "number-set-back" not in beyond(small)


def test_a_content_that_can_not_be_read_is_counted(small: Small) -> None:
    by_hand(small, PATH, r"phases:", "phases: [")
    put_back(small, PATH)
    found = beyond(small)["unreadable-in-history"]
    assert found.severity is Severity.NOTE and "1 content" in found.what


# Merges -------------------------------------------------------------------------------------------


def two_sides(small: Small, path: str, ours: tuple[str, str], theirs: tuple[str, str]) -> None:
    """Each side changes the file in its own way; the merge is left to be made."""
    run_git(small.root, "switch", "--quiet", "-c", "other")
    by_hand(small, path, *theirs)
    run_git(small.root, "switch", "--quiet", "main")
    by_hand(small, path, *ours)


@pytest.mark.parametrize("numbered", [False, True])
def test_a_merge_into_a_third_content_needs_a_number(small: Small, numbered: bool) -> None:
    two_sides(
        small,
        PATH,
        (r"sunflower-oil: 14", "sunflower-oil: 15"),
        (r"percent: 0\.8\}", "percent: 0.9}"),
    )
    plain_git(small.root)
    run_git(small.root, "merge", "--no-commit", "other", check=False)
    text = (small.root / PATH).read_text(encoding="utf-8")
    assert "15" in text and "0.9" in text and "<<<" not in text
    if numbered:
        put(small.root, PATH, text.replace("version: 3", "version: 4"))
    did = commit(small.root, "merged")
    problems = check_history(Bench(small.root)).problems
    told = [p for p in problems if p.rule == "merge-kept-number" or p.commit == did]
    assert bool(told) is not numbered


def test_a_merge_that_drops_one_sides_entry_is_told(small: Small) -> None:
    run_git(small.root, "switch", "--quiet", "-c", "other")
    note(Bench(small.root), small.open, ["pH 5.0"])
    run_git(small.root, "switch", "--quiet", "main")
    put(small.root, "notes.txt", "mine")
    commit(small.root, "something else")
    run_git(small.root, "merge", "--quiet", "-s", "ours", "-m", "merged", "other")
    assert beyond(small)["entry-lost"].commit == git_says(small.root, "rev-parse", "HEAD")


# Signatures ---------------------------------------------------------------------------------------


def sign_with_ssh(root: Path, folder: Path) -> None:
    """A key of its own for the test; git signs with it from now on."""
    import subprocess

    key = folder / "key"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(key)], check=True)
    run_git(root, "config", "gpg.format", "ssh")
    run_git(root, "config", "user.signingKey", str(key))
    run_git(root, "config", "commit.gpgSign", "true")


@pytest.mark.needs_tool("ssh-keygen")
def test_commits_without_a_signature_are_counted_where_git_asks_for_one(
    small: Small, tmp_path: Path
) -> None:
    assert "commit-not-signed" not in beyond(small)
    before = int(git_says(small.root, "rev-list", "--count", "HEAD"))
    sign_with_ssh(small.root, tmp_path)
    note(Bench(small.root), small.open, ["pH 5.0"])
    assert git_says(small.root, "cat-file", "commit", "HEAD").count("gpgsig") == 1
    found = beyond(small)["commit-not-signed"]
    assert f"{before} commits have no signature" in found.what
    assert "commit.gpgSign" in found.what


def test_the_notebook_can_ask_for_signatures_too(small: Small) -> None:
    with (small.root / "labbook.yaml").open("a", encoding="utf-8") as file:
        file.write("signed commits: yes\n")
    head = commit(small.root, "sign from now on")
    found = beyond(small)["commit-not-signed"]
    assert found.commit == head
    assert "labbook.yaml asks" in found.what


def test_a_message_that_speaks_of_a_signature_is_none(small: Small) -> None:
    with (small.root / "labbook.yaml").open("a", encoding="utf-8") as file:
        file.write("signed commits: yes\n")
    head = commit(small.root, "a subject\n\ngpgsig in the body\n\ngpgsig -----BEGIN")
    assert beyond(small)["commit-not-signed"].commit == head


# Telling how far it is ----------------------------------------------------------------------------


def test_the_reading_tells_how_far_it_is_and_ends_at_all_of_it(small: Small) -> None:
    said: list[tuple[int, int]] = []
    check_history(Bench(small.root), lambda done, of: said.append((done, of)))
    assert said and said[-1][0] == said[-1][1] > 0
    assert said == sorted(said)
