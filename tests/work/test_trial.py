"""A trial batch has its content beside it; the formula and its numbers stay as they are."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from labbook.model.formula import Formula, Line
from labbook.work.check import check
from labbook.work.diff import diff_batches, pinned_content
from labbook.work.log import log
from labbook.work.make import Wish, make_trial
from labbook.work.outcomes import batches_of
from labbook.work.states import state_of
from tests.notebook.repos import git_says
from tests.work.notebooks import PATH, Maker, Small


def less_salt(formula: Formula) -> Formula:
    def line(one: Line) -> Line:
        return replace(one, percent=Decimal("0.4")) if "chloride" in one.ingredient else one

    phases = tuple(replace(p, lines=tuple(map(line, p.lines))) for p in formula.phases)
    return replace(formula, phases=phases, version=0)


def test_a_trial_leaves_the_formula_alone(small: Small, maker: Maker) -> None:
    before = (small.root / PATH).read_bytes()
    base = maker.bench.history.number("HC", 1)
    state = state_of(maker.bench, "HC")
    done = make_trial(maker.bench, base, less_salt(base.formula), Wish(aim="is it the salt"))
    bench = maker.bench
    batch = bench.snapshot.batches[done.batch.id]
    assert batch.formula.name == "trial of HC@1"
    assert (small.root / PATH).read_bytes() == before
    assert replace(state_of(bench, "HC"), batches=0) == replace(state, batches=0)
    salt = [line for line in batch.lines if line.ingredient == "sodium-chloride"]
    assert [line.percent for line in salt] == [Decimal("0.4")]
    assert git_says(small.root, "status", "--porcelain") == ""
    assert [p.rule for p in check(bench, batch.short).problems if p.rule.startswith("trial")] == []


def test_a_trial_is_no_batch_of_a_version(maker: Maker) -> None:
    base = maker.bench.history.number("HC", 1)
    done = make_trial(maker.bench, base, less_salt(base.formula), Wish())
    bench = maker.bench
    assert done.batch.id not in {b.id for b in batches_of(bench, base.formula.id, 1)}
    told = [label.id for label in log(bench, "HC").loose_batches]
    assert done.batch.id in told


def test_its_difference_to_a_batch_of_the_version_is_the_one_change(
    small: Small, maker: Maker
) -> None:
    base = maker.bench.history.number("HC", 1)
    done = make_trial(maker.bench, base, less_salt(base.formula), Wish())
    bench = maker.bench
    batch = bench.snapshot.batches[done.batch.id]
    assert pinned_content(bench, batch) is not None
    found = diff_batches(bench, bench.snapshot.batches[small.first], batch)
    assert found.versions is not None
    changed = [c.ingredient for c in found.versions.lines if c.kind == "deliberate"]
    assert changed == ["sodium-chloride"]


def test_a_changed_content_beside_a_trial_is_found(small: Small, maker: Maker) -> None:
    base = maker.bench.history.number("HC", 1)
    done = make_trial(maker.bench, base, less_salt(base.formula), Wish())
    path = maker.bench.batch_path(done.batch.id, "formula.yaml")
    text = (small.root / path).read_text(encoding="utf-8")
    maker.edits(path, "percent: 0.4", "percent: 0.6")
    rules = {p.rule for p in check(maker.bench).problems}
    assert "trial-content-changed" in rules
    (small.root / path).unlink()
    assert "trial-content-missing" in {p.rule for p in check(maker.bench).problems}
    (small.root / path).write_text(text, encoding="utf-8")
    found = {p.rule for p in check(maker.bench).problems}
    assert not found & {"trial-content-changed", "trial-content-missing"}
