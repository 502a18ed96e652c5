"""How far the chances and words of `why` can be believed, and what `next` is worth.

`python -m tests.benchmarks.calibration` draws 2,000 notebooks from each world of `worlds.py`,
reckons with each, and prints how often suspects of a reckoned chance, and of a word on screen, are
truly causes; the same after three sessions of a batch and its control. Then it counts how many more
batches it takes to find a cause by the proposed settings, by changing one thing at a time at
random, and by repeating the good batch. Everything is drawn from a seed: the same call prints the
same tables.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, lgamma, log
from random import Random
from statistics import mean, median

from labbook.evidence.causes import (
    Reckoning,
    Row,
    best_settings,
    cleared,
    held,
    reckon,
    speaking_sessions,
    word,
)
from tests.benchmarks.worlds import WORLDS, Question, World, question

SEED = 20260
WORDS = ("very likely", "likely", "possible", "unlikely", "nearly cleared")
AT_LEAST = {"very likely": 0.9, "likely": 0.6, "possible": 0.2}
AT_MOST = {"unlikely": 0.2, "nearly cleared": 1 / 15}
EDGES = (0.0, 1 / 15, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 0.98, 0.99, 1.0)
SESSIONS = 3
MOST_BATCHES = 12
FOUND = 0.9
ALONG = "  or what changed along"


@dataclass(frozen=True, slots=True)
class Claim:
    """One suspect of one notebook: what was reckoned and said, and the truth."""

    chance: float
    said: str
    true: bool
    along: bool
    """It is a cause, or something unrecorded changed along with it and is one."""
    cleared: bool


def at_most(true: int, size: int, chance: float) -> float:
    """How often so few of so many come out true where each is with this chance: binomial."""
    yes, no, ways = log(chance), log(1 - chance), lgamma(size + 1)
    return sum(
        exp(ways - lgamma(x + 1) - lgamma(size - x + 1) + x * yes + (size - x) * no)
        for x in range(true + 1)
    )


def refuted(said: str, true: Sequence[bool]) -> bool:
    """Were suspects so called causes less often than the word says, or, for the low words, more.

    Exact binomial test, one-sided, 2.5 %.
    """
    yes, size = sum(true), len(true)
    if said in AT_LEAST:
        return at_most(yes, size, AT_LEAST[said]) < 0.025
    return at_most(size - yes, size, 1 - AT_MOST[said]) < 0.025


def claims(asked: Question, found: Reckoning, sessions: Sequence[int]) -> Iterator[Claim]:
    """What the reckoning claims of each suspect of a notebook."""
    clear = cleared(found)
    for i, chance in enumerate(found.marginals):
        said = word(held(chance, found.outside, sessions[i]))
        true = asked.truth[i]
        yield Claim(chance, said, true, true or asked.along, clear[i])


def looked_back(world: World, notebooks: int, seed: int = SEED) -> list[Claim]:
    """All claims over so many notebooks of a world, from the batches that happen to be there."""
    every: list[Claim] = []
    for n in range(notebooks):
        asked = question(world, Random(f"{seed}/{world.name}/{n}"))
        found = reckon(asked.suspects, asked.rows)
        every += claims(asked, found, [0] * len(asked.suspects))
    return every


def tried(world: World, notebooks: int, seed: int = SEED) -> list[Claim]:
    """All claims after three sessions: the proposed batch and its control, same day."""
    every: list[Claim] = []
    for n in range(notebooks):
        chance = Random(f"{seed}/tried/{world.name}/{n}")
        asked = question(world, chance)
        size = len(asked.suspects)
        found, rows = reckon(asked.suspects, asked.rows), list(asked.rows)
        days: dict[str, str] = {}
        for day in range(SESSIONS):
            setting = best_settings(found, most=1)[0].setting
            hidden = chance.random() < 0.3
            test = made(asked, setting, hidden, chance)
            control = made(asked, (False,) * size, hidden, chance)
            rows += [Row(f"t{day}", test, setting), Row(f"c{day}", control, (False,) * size)]
            days |= {f"t{day}": str(day), f"c{day}": str(day)}
            found = reckon(asked.suspects, rows)
        spoke = [speaking_sessions(rows, days, i) for i in range(size)]
        every += claims(asked, found, spoke)
    return every


def made(asked: Question, setting: Sequence[bool], hidden: bool, chance: Random) -> bool:
    """Does the good batch, made again with these changes, fail."""
    values = list(asked.good.values)
    for attribute, on in zip(asked.attributes, setting, strict=True):
        if on:
            values[attribute] = asked.failed.values[attribute]
    return asked.nature.fails(values, hidden, chance)


Strategy = Callable[[Reckoning, int, Random], tuple[bool, ...]]


def proposed(found: Reckoning, batch: int, chance: Random) -> tuple[bool, ...]:
    """The setting that `next` puts first."""
    return best_settings(found, most=1)[0].setting


def one_at_random(found: Reckoning, batch: int, chance: Random) -> tuple[bool, ...]:
    """One suspect changed, drawn at random."""
    size = len(found.suspects)
    chosen = chance.randrange(size)
    return tuple(i == chosen for i in range(size))


def good_again(found: Reckoning, batch: int, chance: Random) -> tuple[bool, ...]:
    """The good batch as it was."""
    return (False,) * len(found.suspects)


STRATEGIES: dict[str, Strategy] = {
    "as proposed": proposed,
    "one at random": one_at_random,
    "good one again": good_again,
}


def to_convict(asked: Question, strategy: Strategy, chance: Random) -> tuple[int, bool | None]:
    """Batches until some suspect has 9 in 10 and is told apart from all others, and is it right.

    None for the second where twelve batches don't get there.
    """
    rows = list(asked.rows)
    for batch in range(MOST_BATCHES + 1):
        found = reckon(asked.suspects, rows)
        best = convicted(found)
        if best is not None:
            return batch, asked.truth[best]
        if batch < MOST_BATCHES:
            setting = strategy(found, batch, chance)
            fails = made(asked, setting, chance.random() < 0.3, chance)
            rows.append(Row(f"n{batch}", fails, setting))
    return MOST_BATCHES, None


def convicted(found: Reckoning) -> int | None:
    """The suspect with at least 9 in 10 that is told apart from every other."""
    size = range(len(found.suspects))
    best = max(size, key=found.marginals.__getitem__)
    alone = all(found.told_apart(best, j) for j in size if j != best)
    return best if alone and found.marginals[best] >= FOUND else None


def open_questions(world: World, notebooks: int, seed: int = SEED) -> list[Question]:
    """Notebooks with three suspects or more, one of them a cause that can be found.

    None is convicted yet, and the good batch has no recorded cause in it: where it was only lucky,
    batches made from it fail whatever is changed.
    """
    chosen: list[Question] = []
    n = 0
    while len(chosen) < notebooks:
        asked = question(world, Random(f"{seed}/next/{world.name}/{n}"))
        n += 1
        lucky = any(asked.good.values[i] == bad for i, bad in asked.nature.causes.items())
        if len(asked.suspects) < 3 or sum(asked.truth) != 1 or lucky:
            continue
        if convicted(reckon(asked.suspects, asked.rows)) is None:
            chosen.append(asked)
    return chosen


def share(of: Sequence[bool]) -> str:
    """A share with its count, for a cell of a table."""
    return f"{sum(of) / len(of):.2f}/{len(of)}" if of else "-"


def reliability(name: str, of: Sequence[Claim], along: bool = False) -> str:
    """A line: per range of reckoned chances the share of true causes and the count."""
    cells = []
    for low, high in pairwise(EDGES):
        last = high == EDGES[-1]
        held_by = [c for c in of if low <= c.chance < high or (last and c.chance == high)]
        cells.append(share([c.along if along else c.true for c in held_by]).rjust(9))
    return name.ljust(31) + "".join(cells)


def by_word(name: str, of: Sequence[Claim], hopeless: bool, along: bool = False) -> str:
    """A line: per word on screen the share of true causes and the count; ! where refuted.

    `along` counts what changed along as true, which only the words for something likely say.
    """
    cells = []
    for said in AT_LEAST if along else WORDS:
        true = [c.along if along else c.true for c in of if c.said == said]
        mark = "!" if refuted(said, true) and not hopeless else " "
        cells.append(share(true).rjust(14) + mark)
    clear = "" if along else share([c.true for c in of if c.cleared]).rjust(12)
    return name.ljust(31) + "".join(cells) + clear


def claim_lines(
    title: str, draw: Callable[[World, int], list[Claim]], notebooks: int
) -> Iterator[str]:
    """Both tables of one way of getting at claims."""
    drawn = {world: draw(world, notebooks) for world in WORLDS}
    yield f"{title}: reckoned chance from … → share of true causes/suspects"
    yield " " * 31 + "".join(f"{low:.2f}".rjust(9) for low in EDGES[:-1])
    for world, of in drawn.items():
        yield reliability(world.name, of)
        if world.follows:
            yield reliability(ALONG, of, along=True)
    yield ""
    yield f"{title}: word on screen → share of true causes/suspects (! refuted)"
    yield " " * 31 + "".join(w.rjust(14) + " " for w in WORDS) + "cleared".rjust(12)
    for world, of in drawn.items():
        yield by_word(world.name, of, world.hopeless)
        if world.follows:
            yield by_word(ALONG, of, hopeless=False, along=True)
    yield ""


def batch_lines(notebooks: int) -> Iterator[str]:
    """How many batches each way of going on takes, in the worlds where there is a cause to find."""
    yield f"batches until one suspect is convicted (of {notebooks} notebooks; at most 12)"
    yield " " * 46 + " mean  median  rightly  wrongly  not at all"
    for world in WORLDS:
        if world.hopeless or world.rules == "wrong":
            continue
        asked = open_questions(world, notebooks)
        for name, strategy in STRATEGIES.items():
            ends = [
                to_convict(q, strategy, Random(f"{SEED}/{name}/{world.name}/{n}"))
                for n, q in enumerate(asked)
            ]
            counts = [batches for batches, _ in ends]
            right, wrong, never = (
                sum(end is kind for _, end in ends) / len(ends) for kind in (True, False, None)
            )
            yield (
                f"{world.name.ljust(31)}{name.ljust(15)}{mean(counts):5.1f}{median(counts):8.1f}"
                f"{right:9.2f}{wrong:9.2f}{never:12.2f}"
            )


def main(arguments: Sequence[str] | None = None) -> None:
    """Print all tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--notebooks", type=int, default=2000, help="per world")
    notebooks = parser.parse_args(arguments).notebooks
    for lines in (
        claim_lines("from the batches there are", looked_back, notebooks),
        claim_lines("after three sessions", tried, notebooks),
        batch_lines(max(2, notebooks // 10)),
    ):
        for line in lines:
            sys.stdout.write(line + "\n")


if __name__ == "__main__":
    main()
