"""`check`: files, references, versions, pins, closed batches; and what was not checked."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from labbook.model.errors import GitRefused, Unclear, UnknownName
from labbook.model.ids import matching_batches, next_entry_id
from labbook.model.jars import Stability
from labbook.model.problems import Place, Problem, Severity
from labbook.model.results.keeping import Checked
from labbook.trade.composition import WHOLE, Composition, Finding, resolve
from labbook.trade.exact import decimal_text
from labbook.work.bench import Bench
from labbook.work.check_batches import batch_problems
from labbook.work.check_entry import checked_entry
from labbook.work.check_meters import meter_problems
from labbook.work.check_photos import photo_problems
from labbook.work.check_reactions import reaction_problems
from labbook.work.check_references import reference_problems
from labbook.work.check_trade import check_trade, not_checked, position, readable_formulas, some
from labbook.work.check_versions import version_problems
from labbook.work.draft import Draft

if TYPE_CHECKING:
    from labbook.notebook.record import Plan

NOT_CHECKED = (
    "microbes: only a challenge test tells whether the preservation works; a look never does",
    "whether a cream is safe on skin: that takes a qualified assessor and the law where you are",
)


ONE_BY_ONE = frozenset({"reaction-noted"})
"""Findings that are accepted each by itself, never all of them beforehand."""


def check(bench: Bench, typed: str = "") -> Checked:
    """All findings, errors first; accepted ones apart.

    Args:
        bench: the notebook.
        typed: a formula's code, a batch, or an entry of the journal; empty checks everything.
    """
    try:
        scope = _scope(bench, typed)
    except UnknownName:
        entry = checked_entry(bench, typed)
        if entry is None:
            raise
        return entry
    problems = list(bench.snapshot.problems)
    problems += formula_problems(bench)
    problems += reference_problems(bench.snapshot)
    problems += photo_problems(bench)
    problems += reaction_problems(bench)
    problems += meter_problems(bench)
    trade = check_trade(bench, lambda path: _covers(bench, scope, path))
    problems += trade.problems
    unseen: list[str] = []
    try:
        problems += version_problems(bench)
        problems += batch_problems(bench)
        problems += leftover_problems(bench)
        if unseen := _cut_off(bench):
            problems = [p for p in problems if p.rule != "pin-without-version"]
    except GitRefused as error:
        unseen.append(f"versions, pins and closed batches: {error.what}")
    wanted = [p for p in problems if _in_scope(bench, p, scope)]
    accepted = {(a.rule, (a.about or "").upper()) for a in bench.snapshot.settings.accepted}
    ordered = sorted(set(wanted), key=lambda problem: problem.sort_key)
    files = [h for path, h in bench.snapshot.files.items() if _covers(bench, scope, path)]
    looked_at = (h.record for h in files if isinstance(h.record, Stability))
    return Checked(
        scope=scope,
        formulas=sum(1 for h in files if h.kind == "formula"),
        batches=sum(1 for h in files if h.kind == "batch"),
        looks=sum(len(record.looks) for record in looked_at),
        problems=tuple(p for p in ordered if not _is_accepted(p, accepted)),
        accepted=tuple(p for p in ordered if _is_accepted(p, accepted)),
        not_checked=(*unseen, *_unknown(bench, scope), *not_checked(bench, trade), *NOT_CHECKED),
    )


def _is_accepted(problem: Problem, accepted: set[tuple[str, str]]) -> bool:
    about = problem.about.upper()
    names = {about, about.rsplit("-", 1)[-1], ""}
    return problem.severity is not Severity.ERROR and any(
        (problem.rule, name) in accepted for name in names
    )


def _scope(bench: Bench, typed: str) -> str:
    if not typed:
        return ""
    code = typed.upper()
    if f"formulas/{code}.yaml" in bench.snapshot.files:
        return code
    folders = {path.split("/")[2] for path in bench.snapshot.files if path.startswith("batches/")}
    found = matching_batches(typed, folders)
    if len(found) == 1:
        return found[0]
    raise UnknownName(
        f"The notebook has neither a formula nor a batch {typed}.", mend="labbook check"
    )


def _in_scope(bench: Bench, problem: Problem, scope: str) -> bool:
    if not scope or problem.about == scope:
        return True
    if f"/{scope}" in f"/{problem.place.path}":
        return True
    formula = bench.snapshot.formulas.get(scope)
    batch = bench.snapshot.batches.get(problem.about)
    return bool(formula and batch and batch.formula.id == formula.id)


def _covers(bench: Bench, scope: str, path: str) -> bool:
    """Whether a file is of the formula or batch that is checked; of a formula its batches too."""
    if not scope or path == f"formulas/{scope}.yaml":
        return True
    folder = path.split("/")[2] if path.startswith("batches/") else ""
    if folder == scope:
        return True
    formula, batch = bench.snapshot.formulas.get(scope), bench.snapshot.batches.get(folder)
    return bool(formula and batch and batch.formula.id == formula.id)


def _unknown(bench: Bench, scope: str) -> tuple[str, ...]:
    names = set()
    for code, (_, formula) in readable_formulas(bench).items():
        if _covers(bench, scope, bench.formula_path(code)):
            names |= set(resolve(formula, bench.snapshot.sheets).unknown)
    if not names:
        return ()
    return (f"what depends on a sheet, for want of one: {some(sorted(names))}",)


def _cut_off(bench: Bench) -> list[str]:
    """What can't be seen where git has only the newest part of history."""
    from labbook.notebook import git

    if not (git.common_dir(bench.root) / "shallow").exists():
        return []
    return ["what happened before this clone's history begins: git fetch --unshallow brings it"]


TOLD_BY_FILE = frozenset({"two-qs-lines", "percent-missing"})
"""Findings about sums that the errors of a file name already."""


def formula_problems(bench: Bench) -> Iterator[Problem]:
    """Sums and q.s. lines of each formula; of a file with errors, of what can be understood."""
    for code, (held, formula) in readable_formulas(bench).items():
        broken = code not in bench.snapshot.formulas
        composition = resolve(formula, bench.snapshot.sheets)
        found = [f for f in composition.problems if not (broken and f.rule in TOLD_BY_FILE)]
        if (over := _over_without_qs(composition)) is not None:
            found.append(over)
        for finding in found:
            place = held.place("phases")
            if finding.line is not None:
                phase, line = position(formula, finding.line)
                place = held.place("phases", phase, "lines", line, "percent")
            what, mend = sentence(finding.what), sentence(finding.mend)
            yield Problem(Severity.WARNING, finding.rule, place, what, mend, about=code)


def sentence(text: str) -> str:
    """A clause as a sentence of its own; a name that begins it stays as it is written."""
    first = text.split(" ", 1)[0]
    named = "-" in first or not first.isalpha()
    said = text if named else text[:1].upper() + text[1:]
    return said if not said or said[-1] in ".:" else f"{said}."


def _over_without_qs(composition: Composition) -> Finding | None:
    """Lines over 100 % beside several q.s. lines, of which none can then be the one that fills."""
    if sum(1 for line in composition.lines if line.qs) < 2 or composition.total <= WHOLE:
        return None
    over = composition.total - WHOLE
    what = (
        f"the lines with a percent add up to {decimal_text(composition.total)} %, "
        f"{decimal_text(over)} % over 100, before anything is filled up"
    )
    return Finding("total-not-100", what, None, over, "take something out of them")


def leftover_problems(bench: Bench) -> Iterator[Problem]:
    """Entries that are on the disk and not in history yet."""
    from labbook.notebook.record import leftovers

    for sentence in leftovers(bench.root):
        yield Problem(Severity.WARNING, "not-in-history-yet", Place("labbook.yaml"), sentence)


def accept(bench: Bench, rule: str, about: str, why: str) -> Problem:
    """Accepts a finding with a reason; it then stands apart, under "accepted".

    Raises:
        Unclear: no reason, or there is no such finding, or it is an error.
    """
    if not why.strip():
        raise Unclear("Accepting a finding needs its reason.", mend='Add it: -m "..."')
    wanted = about.upper()
    if rule in ONE_BY_ONE and not wanted:
        raise Unclear(
            f"{rule} is accepted one by one, so that a new one is seen.",
            mend=f'Name the one: labbook check --accept {rule} 7k.e1 -m "..."',
        )
    found = [
        p
        for p in check(bench).problems
        if p.rule == rule and (not wanted or wanted in (p.about.upper(), p.about.rsplit("-")[-1]))
    ]
    if not found:
        raise UnknownName(f"There is no finding {rule} about {about or 'anything'}.")
    if found[0].severity is Severity.ERROR:
        raise Unclear(f"{rule} is an error and can't be accepted.", mend=found[0].mend)

    def plan() -> Plan:
        fresh = bench.afresh()
        draft = Draft(bench.root)
        entry = {
            "id": next_entry_id("x", [a.id for a in fresh.snapshot.settings.accepted]),
            "rule": rule,
            **({"about": wanted} if wanted else {}),
            "why": why,
            "time": bench.now,
        }
        draft.append("labbook.yaml", "accepted", entry)
        return draft.plan(f"Accept {rule}{f' of {wanted}' if wanted else ''}\n\n{why}", found[0])

    bench.record(plan, command="check --accept")
    return found[0]


def check_staged(bench: Bench) -> Checked:
    """The files that git is about to commit, each for itself: for a hook before a commit."""
    from labbook.model.kinds import kind_of
    from labbook.notebook import git
    from labbook.notebook.readfile import read_bytes
    from labbook.notebook.snapshot import Snapshot

    staged = {path: raw for path, raw in git.staged_files(bench.root).items() if kind_of(path)}
    files = {path: read_bytes(path, raw) for path, raw in staged.items()}
    snapshot = Snapshot(bench.root, files)
    problems = sorted(
        {*snapshot.problems, *reference_problems(snapshot)}, key=lambda problem: problem.sort_key
    )
    return Checked(
        scope="staged",
        formulas=len(snapshot.formulas),
        batches=len(snapshot.batches),
        looks=sum(len(s.looks) for s in snapshot.stability.values()),
        problems=tuple(problems),
        accepted=(),
        not_checked=("versions, pins and closed batches: labbook check looks at them",),
    )
