"""A sample of the fuzzing, and that the fuzzer sees what it is there for."""

from __future__ import annotations

from random import Random

import pytest

from labbook.model.errors import Unclear
from labbook.model.kinds import KINDS, kind_of
from tests.fuzz.mutate import mutated
from tests.fuzz.running import every_target, run, world_in
from tests.fuzz.targets import FILES, SAYS_NO, Target, World


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> World:
    return world_in(tmp_path_factory.mktemp("fuzz"))


def test_a_sample_of_inputs_ends_in_a_record_or_a_sentence(world: World) -> None:
    """By hand: python -m tests.fuzz --inputs 100000."""
    result = run(world, every_target(world), 1_500, seed=20)
    assert not result.faults, "\n\n".join(
        f"{fault.kind}\n{fault.raw[:400]!r}\n{fault.said}" for fault in result.faults[:3]
    )
    assert len(result.inputs) == len(every_target(world))
    assert sum(result.taken.values()) > 100  # not everything is refused at the door


def test_every_kind_of_file_is_among_them() -> None:
    kinds = {kind.name for path in FILES if (kind := kind_of(path)) is not None}
    assert kinds == set(KINDS)


def test_every_parser_takes_a_seed(world: World) -> None:
    """One that refuses all of its seeds is never met behind its door."""
    for target in every_target(world):
        for raw in target.seeds:
            try:
                target.run(world, raw, Random(target.name))
            except SAYS_NO:
                continue
            break
        else:
            pytest.fail(f"{target.name} refuses every seed")


def test_inputs_are_the_same_on_every_machine() -> None:
    seeds = [b"pH 5.4", b"A 71 B 69"]
    assert mutated(Random("1-1"), seeds) == mutated(Random("1-1"), seeds)


def test_a_fault_is_seen_and_a_refusal_is_none(world: World) -> None:
    def fails(_world: World, raw: bytes, _chance: Random) -> None:
        if len(raw) > 3:
            raise ValueError("not a refusal")
        raise Unclear("a refusal")

    result = run(world, [Target("fails", 1, [b"abc"], fails)], 50, seed=1)
    assert 0 < len(result.faults) < 50
    assert all(len(fault.raw) > 3 for fault in result.faults)
