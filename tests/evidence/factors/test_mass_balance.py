"""A question counts what came out by the mass balance, not what was weighed in. All invented."""

from __future__ import annotations

from dataclasses import replace

from labbook.evidence.factors import ask
from labbook.model.batch import Batch, Parent, Reading
from labbook.model.quantities import parse_quantity as q
from tests.evidence.factors.notebooks import a_batch, a_book, named, sides


def steamed(batch: Batch, grams: int) -> Batch:
    """The batch with its water phase weighed before and after heating, in a pot of 100 g."""
    before = 100 + 75
    read = (("mass before heating", before), ("mass after heating", before - grams))
    return replace(
        batch,
        readings=tuple(
            Reading(id=f"r{n}", reading=name, of="B", value=q(f"{mass} g").value, unit="g")
            for n, (name, mass) in enumerate(read, 1)
        ),
    )


def test_what_steamed_off_is_one_act_with_the_water_that_it_took() -> None:
    bad, good = steamed(a_batch("9T"), 12), steamed(a_batch("4M"), 0)
    found = ask(a_book((bad, False), (good, True)), bad.id, good.id)
    assert [(f.kind, f.what) for f in found.factors] == [("evaporation", "lost while making")]
    factor = found.factors[0]
    assert (factor.failed, factor.good) == ("12", "0")
    assert {"glyceryl-oleate", "sunflower-oil", "salt"} == {item.what for item in factor.folded}


def test_less_water_is_lent_to_the_loss_where_it_matters() -> None:
    usual = {"sunflower-oil": ("A", "60.0")}
    bad, good = (steamed(a_batch(one, lines=usual), g) for one, g in (("9T", 12), ("4M", 0)))
    found = ask(a_book((bad, False), (good, True)), bad.id, good.id)
    assert [f.kind for f in found.factors] == ["evaporation"]
    assert "water" in {item.what for item in found.factors[0].folded}


def test_what_was_weighed_otherwise_as_well_stays_an_act_of_its_own() -> None:
    bad, good = steamed(a_batch("9T", lines={"salt": "0.4"}), 12), steamed(a_batch("4M"), 0)
    found = ask(a_book((bad, False), (good, True)), bad.id, good.id)
    assert {(f.kind, f.what) for f in found.factors} == {
        ("evaporation", "lost while making"), ("amount", "salt"),
    }  # fmt: skip


def test_a_little_steam_in_both_differs_in_nothing() -> None:
    bad = steamed(a_batch("9T", lines={"salt": "0.4"}), 2)
    found = ask(a_book((bad, False), (steamed(a_batch("4M"), 1), True)), bad.id)
    assert [(f.kind, f.what) for f in found.factors] == [("amount", "salt")]


def test_a_batch_that_lost_as_much_stands_on_the_side_of_the_failed_one() -> None:
    bad, good = steamed(a_batch("9T"), 12), steamed(a_batch("4M"), 0)
    others = (steamed(a_batch("5S", 3), 13), True), (steamed(a_batch("6R", 4), 1), True)
    found = ask(a_book((bad, False), (good, True), *others), bad.id, good.id)
    lost = sides(found, "lost while making")
    assert (lost["5S"], lost["6R"]) == (True, False)


def test_a_premix_counts_by_what_it_is_made_of() -> None:
    """Half salt, half water: 0.8 g of it are 0.4 g of salt."""
    premix = a_batch("2P", 1, lines={"glyceryl-oleate": None, "sunflower-oil": None,
                                     "sodium-benzoate": None, "salt": "50"})  # fmt: skip
    plain = a_batch("9T", 2)
    salt = next(line.id for line in plain.lines if line.ingredient == "salt")
    by_premix = tuple(replace(w, batch=premix.id) if w.line == salt else w for w in plain.weighings)
    bad, good = replace(plain, weighings=by_premix), a_batch("4M")
    found = ask(a_book((bad, False), (good, True), (premix, None)), bad.id, good.id)
    assert named(found)["salt"].failed == "0.40"


def test_cream_that_was_worked_in_again_brings_its_oil() -> None:
    old = a_batch("2P", 1, lines={"sunflower-oil": "60.0"})
    plain = a_batch("9T", 2)
    bad = replace(plain, from_=(Parent(batch=old.id, how="rework", mass=q("100 g")),))
    good = a_batch("4M")
    found = ask(a_book((bad, False), (good, True), (old, None)), bad.id, good.id)
    assert named(found)["sunflower-oil"].failed == "40.00"
