"""Why a batch failed, as a screen: the answer in sentences first, then suspect by suspect."""

from __future__ import annotations

from collections.abc import Sequence

from labbook.model.results.why import Count, Suspect, Why
from labbook.show.layout import MARGIN, WIDEST, Column, Screen, wrapped
from labbook.show.parts import plural

TEXT = WIDEST - MARGIN
NAME = 34
SIDE = 15
NAMED = 3
TRIED = 2
"""Sessions with one change and its repeat after which nothing unseen need be thought of."""
MOST = 5
"""Suspects that are shown whole; more are named in a line unless `--all` asks."""


def why_screen(found: Why, screen: Screen, *, explain: bool = False, flat: bool = False) -> str:
    """The screen of `why`.

    Args:
        found: what the batches say.
        screen: an empty screen.
        explain: adds the reckoning and the sources.
        flat: leaves the rules of the trade out of the figures.
    """
    screen.title(title_of(found), f"{found.event}, {found.until}")
    screen.blank()
    for sentence in verdict(found):
        screen.row("", sentence)
    for suspect in found.suspects if explain else found.suspects[:MOST]:
        screen.blank()
        _suspect(screen, found, suspect)
    _rest(screen, found, explain=explain)
    _together(screen, found)
    screen.blank()
    _around(screen, found)
    if not flat:
        _trade(screen, found)
    if explain:
        _explained(screen, found)
    screen.blank()
    screen.then([(one.command, one.gloss) for one in found.then])
    return screen.text()


def title_of(found: Why) -> str:
    """`Why did 9T separate, and 4M not?`."""
    if not found.good:
        return f"Why do batches of {found.code} fail?"
    did = "separate" if found.group == "separation" else "fail"
    return f"Why did {found.failed} {did}, and {found.good} not?"


# The answer ------------------------------------------------------------------------------------


def verdict(found: Why) -> tuple[str, ...]:
    """The answer in sentences; never more than the batches say."""
    if not found.suspects:
        return (_nothing(found),)
    lead = found.suspects[0]
    sentences = []
    if found.any_cause < 0.5:
        sentences.append(
            "Most likely the cause is not among what was written down: batches that were alike in "
            "all that differs here went both ways."
            if found.outside >= 0.5
            else "It can't be told: the batches say little about any of these differences."
        )
    elif lead.told and lead.word in ("very likely", "likely"):
        how = "Very likely" if lead.word == "very likely" else "Likely, but not settled:"
        sentences.append(f"{how} {lead.phrase}.")
    else:
        sentences.append(f"It can't be told yet. {_candidates(found)}")
    if lead.word in ("possible", "likely") and lead.tried < TRIED:
        sentences.append("Something that nobody wrote down may have changed along with it.")
    near = [one.phrase for one in found.suspects[:MOST] if one.cleared]
    if near:
        shown = near if len(near) <= NAMED else [*near[:NAMED], f"{len(near) - NAMED} more"]
        verb = "is" if len(near) == 1 else "are"
        sentences.append(_upper(f"{listed(shown)} {verb} nearly cleared."))
    return (" ".join(sentences), *found.turns)


def _nothing(found: Why) -> str:
    return (
        f"Nothing that was written down differs between {found.failed} and {found.good}. What made "
        "the difference isn't in the notebook, or it was chance."
    )


def _candidates(found: Why) -> str:
    """Which suspects stand, and that they always changed together where they did."""
    standing = [one for one in found.suspects if one.word not in ("unlikely", "nearly cleared")]
    if not standing:
        return "None of the differences stands out."
    lead, *others = standing
    if not others:
        return _upper(f"{lead.phrase} is the likeliest cause so far, not told apart from chance.")
    tied = [one for one in others if one.about == lead.about]
    if tied:
        names = listed([lead.phrase, *(one.phrase for one in tied)])
        sentence = f"{names} are as likely as each other"
        others = [one for one in others if one not in tied]
    else:
        sentence = f"{lead.phrase} is the likelier cause"
    if others:
        an = "a possible one" if len(others) == 1 else "possible ones"
        sentence += f", {listed([one.phrase for one in others])} {an}"
    whats = {one.what for one in standing}
    if any(group.never and len(whats & set(group.names)) > 1 for group in found.not_apart):
        sentence += ": no batch tells them apart"
    return _upper(sentence + ".")


def listed(names: Sequence[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


# Suspect by suspect ----------------------------------------------------------------------------


def _suspect(screen: Screen, found: Why, one: Suspect) -> None:
    if found.good:
        sides = [f"{found.failed} {one.failed}", f"{found.good} {one.good}"]
    else:
        sides = [one.failed, f"else {one.good}" if one.good else ""]
    margin, second = _margins(one)
    if len(one.what) <= NAME and len(sides[0]) <= SIDE and len(sides[1]) <= SIDE + 2:
        text = f"{one.what:<{NAME}} {sides[0]:<{SIDE}} {sides[1]}"
    else:
        text = "\n".join((one.what, *(f"  {side}" for side in sides if side)))
    screen.row(margin, text.rstrip())
    screen.row(second, counts_words(one, found))
    if one.remark:
        screen.row(one.about if second == "cleared" else "", one.remark)
    elif second == "cleared":
        screen.row(one.about)


def _margins(one: Suspect) -> tuple[str, str]:
    """The word in the margin, and what stands under it."""
    if one.cleared:
        return "nearly", "cleared"
    return one.word, one.about


def counts_words(one: Suspect, found: Why) -> str:
    """`failed: 1 of 1 batch like 9T, 0 of 6 like 4M`, and how many say nothing."""
    like = (f"like {found.failed}", f"like {found.good}")
    sides = like if found.good else ("so", "otherwise")
    text = f"failed: {_count(one.like_failed)} {sides[0]}, {_bare(one.like_good)} {sides[1]}"
    rest = []
    if one.unrecorded:
        rest.append(f"not written down: {', '.join(one.unrecorded)}")
    if one.between:
        rest.append(f"between the two: {', '.join(one.between)}")
    return "; ".join((text, *rest))


def _count(count: Count) -> str:
    return f"{count.failed} of {plural(count.of, 'batch', 'batches')}"


def _bare(count: Count) -> str:
    return f"{count.failed} of {count.of}"


def _rest(screen: Screen, found: Why, *, explain: bool) -> None:
    if explain or len(found.suspects) <= MOST:
        return
    told = {one.what for one in found.suspects[:MOST]}
    rest: dict[str, str] = {}
    for one in found.suspects[MOST:]:
        if one.what not in told:
            rest.setdefault(one.what, one.about)
    if rest:
        screen.blank()
        screen.row("and", "; ".join(f"{what} ({about})" for what, about in rest.items()))


def _together(screen: Screen, found: Why) -> None:
    if not found.together:
        return
    screen.blank()
    percent = f"{100 * found.any_together:.0f} in 100"
    screen.row("together", f"that two of them only do it together: {percent}")
    for pair in found.together:
        screen.row("", f"{pair.one} with {pair.other}: {100 * pair.chance:.0f} in 100")


# What stands around it -------------------------------------------------------------------------


def _around(screen: Screen, found: Why) -> None:
    lines = []
    for group in found.not_apart:
        never = ": no batch has the one without the other" if group.never else ""
        lines += wrapped(f"{listed(group.names)}{never}", TEXT)
    if lines:
        _beside(screen, ("not told", "apart"), lines)
    for number, unknown in enumerate(found.unknown):
        screen.row("" if number else "unknown", unknown.sentence)
        if unknown.command:
            screen.row("", f"If you know it: {unknown.command}")
    for number, text in enumerate(found.follows):
        screen.row("" if number else "follows", text)
    screen.row("counted", counted_words(found))
    if found.runner_up:
        screen.row("", f"{found.runner_up} would be the next to set beside {found.failed}.")
    for text in found.later:
        screen.row("", text)


def counted_words(found: Why) -> str:
    """How many batches were counted, of what, until when, and which were not."""
    of = listed(found.codes or (found.code,))
    text = f"{plural(found.counted, 'batch', 'batches')} of {of}, {found.condition}, {found.until}."
    if found.left_out:
        text += " Left out: " + ", ".join(f"{name}, {why}" for name, why in found.left_out) + "."
    return text


def _trade(screen: Screen, found: Why) -> None:
    ruled = [one for one in found.suspects if one.rule]
    if not ruled:
        return
    lines = []
    for one in ruled:
        lines += wrapped(f"{one.says}: {_strength(one.strength)}", TEXT)
    figures = ", ".join(one.unruled_about for one in found.suspects[:MOST])
    these = "this one" if len(ruled) == 1 else f"these {len(ruled)}"
    lines += wrapped(f"Without {these}: {figures}.", TEXT)
    screen.blank()
    _beside(screen, ("from the", "trade"), lines)


def _beside(screen: Screen, words: tuple[str, str], lines: Sequence[str]) -> None:
    """Two words in the margin, one under the other, beside lines that are wrapped already."""
    for number, line in enumerate([*lines, *([""] if len(lines) == 1 else [])]):
        screen.row(words[number] if number < 2 else "", line)


def _strength(strength: str) -> str:
    return {
        "known": "a known cause",
        "plausible": "plausible",
        "weak": "weakly held",
        "disputed": "disputed",
    }.get(strength, strength)


# The reckoning ---------------------------------------------------------------------------------


def _explained(screen: Screen, found: Why) -> None:
    screen.blank()
    screen.row(
        "reckoned",
        f"That any of these is a cause at all: {found.any_cause:.3f}, before counting "
        f"{found.any_cause_before:.3f}. That something acts which the notebook doesn't hold: "
        f"{found.outside:.3f}, before 0.200. Sets of causes: {found.sets}.",
    )
    columns = (Column("factor"), Column("prior", "point"), Column("posterior", "point"),
               Column("no rules", "point"), Column("exact", "point"))  # fmt: skip
    rows = [
        (
            "",
            [
                one.what,
                f"{one.before:.3f}",
                f"{one.chance:.3f}",
                f"{one.unruled:.3f}",
                "" if one.exact is None else f"{one.exact:.3f}",
            ],
        )
        for one in found.suspects
    ]
    screen.table(columns, rows)
    screen.row(
        "",
        "exact: one-sided exact test of that factor alone, the two batches left out; the smallest "
        f"of {len(found.suspects)} such figures means little.",
    )
    for one in found.suspects:
        for a, b in one.clean_pairs:
            screen.row("pair", f"{a} and {b} differ in {one.what} only")
    for one in found.suspects:
        if one.rule:
            screen.row("rule", f"{one.rule}: {one.mechanism} Source: {one.source}")
    for question in found.questions:
        screen.row("not asked", question.sentence)
        if question.command:
            screen.row("", question.command)
