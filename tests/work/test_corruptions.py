"""What `check` says about harm done behind the program's back: file, line and commit."""

from __future__ import annotations

import json

import pytest

from labbook.model.problems import Problem
from labbook.show.plain import plain
from labbook.work.bench import Bench
from labbook.work.check import check
from tests.conftest import RunLabbook
from tests.notebook.repos import put
from tests.work.corruptions import ALL, COPIES, LISTS, MAKINGS
from tests.work.harm import Harm, commit_by_hand
from tests.work.notebooks import Small, findings


def the_one(small: Small, harm: Harm, commit: str) -> Problem:
    """The finding about a harm, at its place; fails where it is missing or not alone."""
    found = findings(small)
    rule = harm.rule if commit or not harm.uncommitted else harm.uncommitted
    named = [p for p in found if p.rule == rule and p.place.path == harm.path(small)]
    assert named, found
    assert harm.alone is False or len(found) == 1, found
    problem = named[0]
    if harm.at:
        lines = (small.root / problem.place.path).read_text(encoding="utf-8").splitlines()
        pointed = {lines[p.place.line - 1]: p for p in named if p.place.column}
        problem = next(p for line, p in pointed.items() if harm.at in line)
    assert problem.commit == commit
    assert problem.mend
    return problem


def test_there_are_enough_kinds() -> None:
    assert len({harm.name for harm in ALL}) == len(ALL) >= 50


@pytest.mark.parametrize("harm", ALL, ids=lambda harm: harm.name)
def test_committed_by_hand_it_is_named_with_its_commit(small: Small, harm: Harm) -> None:
    harm.do(small, small.root)
    commit = commit_by_hand(small.root, "tidied up")
    for number in range(2):  # further commits, of the same file and of another one
        file = small.root / harm.path(small) if number else small.root / "journal" / "today.md"
        if file.exists() or not number:
            put(small.root, str(file), (file.read_bytes() if file.exists() else b"") + b"# later\n")
            commit_by_hand(small.root, "a word")
    problem = the_one(small, harm, commit)
    assert commit[:7] in problem.what


@pytest.mark.parametrize("harm", ALL, ids=lambda harm: harm.name)
def test_uncommitted_it_is_named_so(small: Small, harm: Harm) -> None:
    harm.do(small, small.root)
    problem = the_one(small, harm, "")
    assert harm.uncommitted or "commit" in problem.what  # not committed, uncommitted


@pytest.mark.parametrize("harm", [*COPIES, *MAKINGS, *LISTS], ids=lambda harm: harm.name)
def test_put_back_by_hand_it_is_forgotten(small: Small, harm: Harm) -> None:
    file = small.root / harm.path(small)
    before = file.read_bytes()
    harm.do(small, small.root)
    commit_by_hand(small.root, "tidied up")
    put(small.root, str(file), before)
    assert findings(small) == ()
    commit_by_hand(small.root, "put back")
    assert findings(small) == ()


def test_a_folder_that_was_renamed(small: Small) -> None:
    old = small.root / "batches" / "2026" / small.first
    new_id = f"{small.first[:-2]}9Z"
    old.rename(old.with_name(new_id))
    text = (old.with_name(new_id) / "batch.yaml").read_text(encoding="utf-8")
    commit = commit_by_hand(small.root, "another name")
    gone, named = (
        next(p for p in findings(small) if p.rule == rule)
        for rule in ("batch-taken-away", "name-of-file")
    )
    assert gone.place.path == small.path(small.first)
    assert gone.commit == commit
    assert f"{new_id}/batch.yaml" in gone.what
    assert named.place.path == small.path(new_id)
    assert text.splitlines()[named.place.line - 1].startswith("id:")
    put(small.root, small.path(new_id), text.replace(small.first, new_id))
    commit_by_hand(small.root, "its id as well")
    gone = next(p for p in findings(small) if p.rule == "batch-taken-away")
    assert f"{new_id}/batch.yaml" in gone.what


def test_two_changes_of_one_value_name_the_last_commit(small: Small) -> None:
    path = small.root / small.path(small.first)
    for value in ("14.03", "14.04"):
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("mass: 14.0", f"mass: {value} g #", 1), encoding="utf-8")
        text = path.read_text(encoding="utf-8")
        head, _, tail = text.partition(" #")
        path.write_text(head + tail[tail.index(",") :], encoding="utf-8")
        commit = commit_by_hand(small.root, value)
    (problem,) = findings(small)
    assert "14.02 g; the file now says 14.04 g" in problem.what
    assert problem.commit == commit
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("14.04 g", "14.05 g"), encoding="utf-8")
    (problem,) = findings(small)
    assert problem.commit == ""
    assert "not committed" in problem.what


BY_NAME = {harm.name: harm for harm in ALL}


def test_as_json(small: Small, run_labbook: RunLabbook) -> None:
    sound = run_labbook("check", "--json", cwd=small.root)
    assert (sound.code, sound.err) == (0, "")
    assert json.loads(sound.out) == plain(check(Bench(small.root)))
    BY_NAME["weighed mass"].do(small, small.root)
    commit = commit_by_hand(small.root, "tidied up")
    harmed = run_labbook("check", "--json", cwd=small.root)
    assert harmed.code == 1
    data = json.loads(harmed.out)
    assert set(data) == {
        "scope", "formulas", "batches", "looks", "commits", "problems", "accepted", "not checked",
    }  # fmt: skip
    (problem,) = data["problems"]
    line = (small.root / small.path(small.first)).read_text().splitlines().index(
        '  - {id: "w1", line: "a1", mass: 14.20 g, time: "2026-03-02T10:00+00:00"}'
    ) + 1  # fmt: skip
    assert problem["place"]["line"] == line
    assert problem == {
        "severity": "error",
        "rule": "closed-batch-changed",
        "place": problem["place"],
        "what": problem["what"],
        "mend": problem["mend"],
        "source": "",
        "about": small.first,
        "commit": commit,
    }
    assert problem["place"]["path"] == small.path(small.first)
    assert run_labbook("check", small.second, "--json", cwd=small.root).code == 0
    told = run_labbook("check", small.first[-2:], cwd=small.root)
    assert told.code == 1
    assert commit[:7] in told.out
    assert f"{small.path(small.first)}:{line}:" in told.out.replace("\n            ", "")
