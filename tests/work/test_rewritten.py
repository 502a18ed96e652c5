"""What `check` says about merged, cut and rewritten history."""

from __future__ import annotations

from pathlib import Path

import pytest

from labbook.model.problems import Severity
from labbook.work.bench import Bench
from labbook.work.check import accept, check
from labbook.work.make import Wish, make
from labbook.work.save import save
from tests.notebook.repos import git_says, put, run_git
from tests.work.driver_places import plain_git
from tests.work.harm import commit_by_hand, swap
from tests.work.notebooks import PATH, Maker, Small, findings, rules

Pairs = list[tuple[str, str]]
NUMBER = ("version: 3", "version: 4")
OIL = ("sunflower-oil: 14", "sunflower-oil: 15")
GLYCERIN = ("percent: 3}", "percent: 5}")


def branches(small: Small, one: Pairs, other: Pairs) -> tuple[str, str, str]:
    """HC is changed on two branches that are merged by plain git; gives all three commits."""
    tips = []
    run_git(small.root, "branch", "side")
    for branch, change in (("side", one), ("main", other)):
        run_git(small.root, "checkout", "-q", branch)
        text = (small.root / PATH).read_text(encoding="utf-8")
        for old, new in change:
            text = swap(old, new)(text)
        put(small.root, PATH, text)
        tips.append(commit_by_hand(small.root, f"on {branch}"))
    run_git(small.root, "merge", "-q", "-m", "together", "side")
    return tips[0], tips[1], git_says(small.root, "rev-parse", "HEAD")


@pytest.fixture
def on_main(small: Small) -> Small:
    run_git(small.root, "checkout", "-q", "-B", "main")
    plain_git(small.root)
    return small


def test_two_contents_under_one_number_from_two_branches(on_main: Small, maker: Maker) -> None:
    small = on_main
    tips = branches(small, [OIL, NUMBER], [GLYCERIN, NUMBER])
    (problem,) = findings(small)
    assert problem.rule == "two-contents-one-number"
    assert problem.severity is Severity.ERROR
    lines = (small.root / PATH).read_text(encoding="utf-8").splitlines()
    assert lines[problem.place.line - 1] == "version: 4"
    assert all(commit[:7] in problem.what for commit in tips[:2])
    done = save(maker.bench, "HC")
    assert done.number == 5
    (problem,) = findings(small)  # told on, but nothing is in the way any more
    assert problem.severity is Severity.WARNING
    accept(maker.bench, "two-contents-one-number", "HC", "settled with HC@5")
    assert findings(small) == ()


def test_a_pin_to_a_number_with_two_contents_is_checked_too(on_main: Small, maker: Maker) -> None:
    small = on_main
    maker.edits(PATH, "sunflower-oil: 14", "sunflower-oil: 16")
    run_git(small.root, "branch", "side")
    batch = make(maker.bench, "HC", Wish()).batch
    run_git(small.root, "checkout", "-q", "side")
    put(small.root, PATH, swap("version: 3", "version: 4")(
        swap("percent: 3}", "percent: 5}")(git_says(small.root, "show", f"side:{PATH}") + "\n")
    ))  # fmt: skip
    other = commit_by_hand(small.root, "HC@4 of the other machine")
    run_git(small.root, "merge", "-q", "-X", "ours", "-m", "together", "main")
    assert set(rules(small)) == {"two-contents-one-number"}
    maker.edits(small.path(batch.id), f'blob: "{batch.formula.blob}"', 'blob: "00000000"')
    found = [p for p in findings(small) if p.rule == "pin-blob-differs"]
    assert len(found) == 1
    assert batch.formula.blob[:12] in found[0].what  # of its own content, not of the other one
    assert other


def test_a_merge_that_keeps_a_number_for_another_content(on_main: Small) -> None:
    small = on_main
    tips = branches(small, [OIL], [GLYCERIN, NUMBER])
    (problem,) = findings(small)
    assert problem.rule == "two-contents-one-number"
    assert problem.commit == tips[2]
    assert tips[1][:7] in problem.what
    assert tips[2][:7] in problem.what


def test_a_version_whose_commit_was_rewritten(small: Small) -> None:
    plain_git(small.root)
    version = Bench(small.root).history.number("HC", 2)
    head = git_says(small.root, "rev-parse", "HEAD")
    run_git(small.root, "reset", "-q", "--hard", version.commit)
    text = (small.root / PATH).read_text(encoding="utf-8")
    put(small.root, PATH, swap("sunflower-oil: 14", "sunflower-oil: 15")(text))
    run_git(small.root, "commit", "-q", "-a", "--amend", "--no-edit")
    run_git(small.root, "cherry-pick", f"{version.commit}..{head}")
    found = findings(small)
    amended = Bench(small.root).history.number("HC", 2)
    assert {p.rule for p in found} == {
        "pin-blob-differs", "pin-digest-differs", "copied-lines-differ",
    }  # fmt: skip
    assert {p.place.path for p in found} == {small.path(small.second), small.path(small.open)}
    about = [p for p in found if p.about == small.second]
    opened = git_says(
        small.root, "log", "--diff-filter=A", "--format=%H", "--", small.path(small.second)
    )
    assert {p.commit for p in about} == {opened}  # the batch has stood so from its first day on
    told = [p for p in about if p.rule.startswith("pin-")]
    assert all(amended.commit[:7] in p.what for p in told)
    lines = (small.root / small.path(small.second)).read_text(encoding="utf-8").splitlines()
    at = {p.rule: lines[p.place.line - 1].split()[0] for p in about}
    assert at["pin-blob-differs"] == "blob:"
    assert at["pin-digest-differs"] == "digest:"


def test_a_version_that_history_lost(small: Small) -> None:
    head = git_says(small.root, "rev-parse", "HEAD")
    run_git(small.root, "checkout", "-q", "--orphan", "fresh")
    put(small.root, PATH, (small.root / PATH).read_text(encoding="utf-8") + "# new\n")
    commit = commit_by_hand(small.root, "all in one")
    assert git_says(small.root, "rev-list", "--count", "HEAD") == "1"
    found = findings(small)
    lost = [p for p in found if p.rule == "pin-without-version"]
    assert {p.about for p in lost} == {small.first, small.second}
    assert {p.commit for p in lost} == {commit}
    assert head != commit


def test_a_clone_cut_short_blames_nobody(small: Small, tmp_path: Path) -> None:
    source = f"file://{small.root}"
    run_git(tmp_path, "clone", "-q", "--depth", "1", source, "short")
    short = Small(tmp_path / "short", small.first, small.second, small.open)
    result = check(Bench(short.root))
    assert not result.errors
    assert any("--unshallow" in sentence for sentence in result.not_checked)
