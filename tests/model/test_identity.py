"""A remembered answer is that of the very same objects, and only so many are kept."""

from labbook.model.identity import KEPT, kept_for_same


def test_the_same_objects_are_worked_out_once_and_equal_ones_anew() -> None:
    asked = []

    @kept_for_same
    def length(value: tuple[int, ...]) -> int:
        asked.append(value)
        return len(value)

    first, equal = (tuple(range(count)) for count in (2, 2))
    assert [length(first), length(first), length(equal)] == [2, 2, 2]
    assert len(asked) == 2


def test_a_new_object_never_gets_the_answer_of_one_that_is_gone() -> None:
    @kept_for_same
    def itself(value: list[int]) -> int:
        return value[0]

    assert [itself([number]) for number in range(4 * KEPT)] == list(range(4 * KEPT))
