"""The session that would tell: one test, and beside it a fresh repeat of the good batch.

Only settings that can be made and may be made are weighed against each other. What an outcome would
leave is reckoned for both sides, so that a maker knows before weighing what the wait is worth.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from math import ceil

from labbook.evidence.answer import counted_rows, phrase, reckoned, short, until_words
from labbook.evidence.causes import Outlook, Rate, Reckoning, best_settings, cleared, figure
from labbook.evidence.factors.types import Factor, Question
from labbook.evidence.saying import Aloud, plain
from labbook.evidence.trial import Trial, trial_of, unsafe
from labbook.model.formula import Formula
from labbook.model.results.why import Branch, NextBatch, Shift
from labbook.model.sheets import Sheets

Setting = tuple[bool, ...]
OFFERED = 3
"""The batch that is proposed, and what could be made instead."""

LEAST_BITS = 0.02
"""Below it no batch is worth its weighing: said instead of offered."""

WORTH_KEEPING = 0.05
"""From this chance on a difference is named among those that have to stay as they were."""


@dataclass(frozen=True)
class Session:
    """A question with all that decides which batch may be made next.

    Args:
        question: what differs, and where every batch stands.
        base: the content of the good batch; `base_name` as a person types it.
        failed: the content of the failed batch.
        sheets: the ingredient sheets.
        keep: names of factors that are to stay as in the good batch.
        limits: why a content breaks a limit of law, empty where it doesn't.
        rate: how often a real cause acts.
        sessions: in which session each batch was made, by its id.
        cost: what a content costs, to choose between settings that tell alike; None where no
            figure can be compared.
    """

    question: Question
    base: Formula
    base_name: str
    failed: Formula | None
    sheets: Sheets
    keep: frozenset[str] = frozenset()
    limits: Callable[[Formula], tuple[str, ...]] = lambda content: ()
    rate: Rate = "mixed"
    sessions: Mapping[str, str] = field(default_factory=dict)
    cost: Callable[[Formula], Fraction | None] = lambda content: None
    _known: dict[tuple[int, ...], tuple[str, ...]] = field(default_factory=dict)

    @cached_property
    def reckoning(self) -> Reckoning:
        """What the batches say so far."""
        return reckoned(self.question, rate=self.rate)

    @cached_property
    def aloud(self) -> Aloud:
        """What may be said of it."""
        return Aloud(self.reckoning, self.sessions, counted_rows(self.question))

    def trial(self, setting: Setting) -> Trial:
        """The batch of a setting."""
        chosen = [f for f, on in zip(self.question.factors, setting, strict=True) if on]
        return trial_of(self.base, self.failed, chosen, self.sheets)

    def against(self, setting: Setting) -> tuple[str, ...]:
        """Why a setting is not offered; empty where it may be made."""
        chosen = [i for i, on in enumerate(setting) if on]
        kept = [self.question.factors[i].what for i in chosen if self._is_kept(i)]
        if kept:
            return tuple(f"{what} is to stay as it is" for what in kept)
        for i in chosen:
            if self._cannot[i]:
                return self._cannot[i]
        return self._of_content(tuple(i for i in chosen if _is_content(self.question.factors[i])))

    @cached_property
    def _cannot(self) -> tuple[tuple[str, ...], ...]:
        """For each factor why it can't be put into a batch by itself."""
        size = len(self.question.factors)
        trials = [self.trial(tuple(i == j for j in range(size))) for i in range(size)]
        return tuple(
            tuple(f"{what} can't be made so again" for what in trial.cannot) for trial in trials
        )

    def _of_content(self, chosen: tuple[int, ...]) -> tuple[str, ...]:
        """Why a content with these factors put in may not be made; worked out once for each."""
        if chosen and chosen not in self._known:
            size = len(self.question.factors)
            content = self.trial(tuple(i in chosen for i in range(size))).content
            self._known[chosen] = unsafe(self.base, content, self.sheets) or self.limits(content)
        return self._known.get(chosen, ())

    def _is_kept(self, number: int) -> bool:
        return self.question.factors[number].name in self.keep

    @cached_property
    def best(self) -> tuple[Outlook, ...]:
        """The setting to make, then what could be made instead."""
        names = [f.what for f in self.question.factors]

        def order(setting: Setting) -> tuple[bool, Fraction, tuple[str, ...]]:
            cost = self.cost(self.trial(setting).content)
            chosen = tuple(name for name, on in zip(names, setting, strict=True) if on)
            return cost is None, cost or Fraction(), chosen

        return best_settings(
            self.reckoning, allowed=lambda s: not self.against(s), order=order, most=OFFERED
        )


def _is_content(factor: Factor) -> bool:
    return factor.kind in ("amount", "substitution", "phase of entry")


def next_batch(session: Session, *, size: str, looks: str) -> NextBatch:
    """The batch that would tell most, and what either outcome would leave.

    Args:
        session: the question and its bounds.
        size: how much to make, `50 g`.
        looks: when to look, `day 1 and day 7`.
    """
    question = session.question
    found = session.best
    blank = NextBatch(
        failed=short(question.failed),
        good=short(question.good),
        group=question.event.group,
        title=_title(session),
        base=session.base_name,
        size=size,
        change=(),
        keep=(),
        look=f"{question.event.condition} jar, {looks}",
        answer_in=_days(question),
        refused=_refused(session),
    )
    if not found or found[0].bits < LEAST_BITS:
        return _settled(session, blank, found)
    best = found[0]
    trial = session.trial(best.setting)
    return replace(
        blank,
        change=(*trial.changes, *trial.by_hand),
        keep=_keep(session, best),
        fails=_branch(session, best, fails=True),
        holds=_branch(session, best, fails=False),
        instead=tuple(_instead(session, best, other) for other in found[1:]),
        bits=best.bits,
        bits_instead=tuple(other.bits for other in found[1:]),
    )


def _title(session: Session) -> str:
    chances = session.reckoning.marginals
    order = sorted(range(len(chances)), key=lambda i: -chances[i])
    names = [session.question.factors[i].what for i in order if chances[i] >= WORTH_KEEPING]
    names = [name for name in names if name][:2]
    if len(names) < 2:
        return f"The batch that would tell why {short(session.question.failed)} failed"
    return f"The batch that would tell {names[0]} from {names[1]}"


def _settled(session: Session, blank: NextBatch, found: tuple[Outlook, ...]) -> NextBatch:
    if not session.question.factors:
        said = (
            "Nothing that was written down differs, so no batch can be made that differs in it. "
            f"Make {session.base_name} again and write down what these lack."
        )
    elif not found:
        said = "None of the differences can be made again, or may be."
    else:
        lead = max(
            range(len(session.reckoning.marginals)), key=session.reckoning.marginals.__getitem__
        )
        factor = session.question.factors[lead]
        said = (
            f"No one batch would tell much more: {phrase(factor)} stands at "
            f"{session.aloud.figure(lead)}, and "
            "whichever way a next batch went, it would hardly move."
        )
    return replace(blank, settled=said)


def _days(question: Question) -> str:
    if question.event.unit == "days":
        days = max(1, ceil(question.event.horizon))
        return f"{days} day{'' if days == 1 else 's'}"
    return until_words(question).removeprefix("by ").removeprefix("in ")


def _keep(session: Session, best: Outlook) -> tuple[str, ...]:
    """What has to stay as in the good batch, the likelier suspects first."""
    chances = session.reckoning.marginals
    kept = [
        i
        for i, on in enumerate(best.setting)
        if not on and chances[i] >= WORTH_KEEPING and session.question.factors[i].good
    ]
    said = []
    for i in sorted(kept, key=lambda i: -chances[i])[:4]:
        factor = session.question.factors[i]
        unit = f" {factor.unit}" if factor.unit else ""
        said.append(f"{factor.what} at {factor.good}{unit}")
    if said:
        said[-1] += f", as in {short(session.question.good)}"
    return tuple(said)


def _branch(session: Session, best: Outlook, *, fails: bool) -> Branch:
    aloud, clear = session.aloud, cleared(session.reckoning)
    now = [aloud.chance(i) for i in range(len(clear))]
    order = sorted(range(len(now)), key=lambda i: -session.reckoning.marginals[i])
    shifts = []
    for i in order:
        later = aloud.after(i, best, fails=fails)
        still = clear[i] and later <= now[i]
        before = "nearly cleared" if clear[i] else plain(now[i])
        after = "nearly cleared" if still else plain(later)
        if i in order[:3] or before != after:
            what = session.question.factors[i].what
            shifts.append(Shift(what=what, before=before, after=after, about=figure(later)))
    chance = best.failure if fails else 1 - best.failure
    return Branch(about=figure(chance), chance=chance, shifts=tuple(shifts))


def _instead(session: Session, best: Outlook, other: Outlook) -> str:
    names = [f.what for f, on in zip(session.question.factors, other.setting, strict=True) if on]
    what = " and ".join(names)
    return f"{what} as in {short(session.question.failed)} {_less(best, other)}"


def _less(best: Outlook, other: Outlook) -> str:
    """How much another batch would tell, against the one that is offered."""
    share = other.bits / best.bits
    more = ", but changes more things" if other.changes > best.changes else ""
    if share > 1.05:
        return f"would tell {_part(share - 1)} more{more}"
    if share >= 0.95:
        return f"would tell about as much{more}"
    return f"would tell {_part(1 - share)} less"


def _part(share: float) -> str:
    parts = ((0.015, "a hundredth"), (0.035, "a fortieth"), (0.075, "a twentieth"),
             (0.15, "a tenth"), (0.22, "a fifth"), (0.29, "a quarter"), (0.4, "a third"),
             (0.6, "half"), (0.8, "two thirds"))  # fmt: skip
    return next((f"about {name}" for most, name in parts if share <= most), "far")


def _refused(session: Session) -> tuple[str, ...]:
    """Differences that are not offered by themselves, each with the reason."""
    found = []
    for factor in session.question.factors:
        reasons = session.against(tuple(one is factor for one in session.question.factors))
        if reasons and not reasons[0].endswith("is to stay as it is"):
            found.append(f"{phrase(factor)}: {reasons[0]}")
    return tuple(found)
