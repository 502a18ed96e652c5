"""A sample of the fuzzing, and that the fuzzer sees what it is there for."""

from __future__ import annotations

from random import Random

import pytest

from labbook.model.errors import Unclear
from tests.fuzz.mutate import mutated
from tests.fuzz.running import every_target, run, world_in
from tests.fuzz.targets import Target, World


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
