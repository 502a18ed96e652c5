"""`why` and `next` on the sample notebook: asked in every way, made, looked at, learned from."""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import RunLabbook
from tests.e2e.bench import ended, through_the_door

Types = Callable[..., str]


@pytest.fixture
def root(sample: Path) -> Path:
    """The sample notebook, to work in."""
    return sample


def typed(root: Path) -> Types:
    """What a command says in a notebook; what went wrong where it has to end otherwise."""

    def does(*words: str, code: int = 0) -> str:
        ran = ended(through_the_door(*words, cwd=root), code)
        return ran.err if code else ran.out

    return does


@pytest.fixture
def asks(replayed: Path) -> Types:
    """Reading commands in the notebook that nobody writes into."""
    return typed(replayed)


def one_object(text: str) -> dict[str, Any]:
    """The JSON that a command printed, which has to be one object and nothing else."""
    found, end = json.JSONDecoder().raw_decode(text)
    assert not text[end:].strip()
    assert isinstance(found, dict)
    return found


def git(root: Path, *words: str) -> str:
    done = subprocess.run(["git", *words], cwd=root, check=True, capture_output=True, text=True)
    return done.stdout


# why -------------------------------------------------------------------------------------------


def test_a_pair_is_the_same_however_it_is_named(asks: Types, run_labbook: RunLabbook,
                                                replayed: Path) -> None:  # fmt: skip
    both = asks("why", "9t", "4m")
    assert both.startswith("Why did 9T separate, and 4M not?")
    assert asks("why", "4m", "9t") == both
    # Where the program chose the good batch it says which one it would take else.
    chosen = "            R8 would be the next to set beside 9T.\n"
    assert chosen in (alone := asks("why", "9t"))
    assert alone.replace(chosen, "") == both
    assert ended(run_labbook("why", "9T", "4M", cwd=replayed), 0).out == both


def test_alone_it_is_about_the_failure_that_was_seen_last(asks: Types) -> None:
    # B6 was seen grainy on the first of April; 9T and K2 were seen to fail before that.
    assert asks("why") == asks("why", "b6")
    assert asks("why").startswith("Why did B6")


def test_the_answer_agrees_with_the_story_that_the_sample_tells(asks: Types) -> None:
    shown = asks("why", "9t")
    names = ("possible    polyg", "possible    sodium-", "water phase when")
    emulsifier, salt, cold = (shown.index(name) for name in names)
    assert emulsifier < salt < cold
    assert "no batch has the" in shown  # one without the other
    assert "R8 had 58 °C too and is intact on day 28" in shown
    assert "Left out: 7K, too young" in shown
    assert 'labbook note 9t "blender ... rpm"' in shown


def test_a_formula_is_asked_about_without_a_pair(asks: Types) -> None:
    shown = asks("why", "SBC")
    assert shown.startswith("Why do batches of SBC fail?")
    assert "up to 3.60 %" in shown
    assert asks("why", "sbc") == shown


def test_a_horizon_and_a_condition_are_what_was_asked_for(asks: Types) -> None:
    assert "by day 14" in asks("why", "9t", "--until", "14d").splitlines()[0]
    warm = asks("why", "9t", "--condition", "40 °C")
    assert ", 40 °C, by day" in warm
    assert asks("why", "9t", "--condition", "40C").splitlines()[0] == warm.splitlines()[0]
    assert "is no time" in asks("why", "9t", "--until", "soon", code=2)
    assert "failed by day 7" in asks("why", "9t", "--until", "2d", code=2)


def test_only_the_explanation_has_the_reckoning_and_the_sources(asks: Types) -> None:
    bare, whole = asks("why", "9t"), asks("why", "9t", "--explain")
    assert whole.startswith(bare.rstrip("\n"))
    told = whole[len(bare) :]
    for word in ("reckoned", "prior", "posterior", "exact", "ource:"):
        assert word in told
        assert word not in bare
    assert not re.search(r"\b0\.\d{3}\b", bare)
    assert re.search(r"\b0\.\d{3}\b", told)


def test_two_that_act_only_together_are_reckoned_with_when_asked(asks: Types) -> None:
    assert "only do it together" not in asks("why", "9t")
    assert "only do it together" in asks("why", "9t", "--pairs")
    assert one_object(asks("why", "9t", "--pairs", "--json"))["any together"] > 0
    assert one_object(asks("why", "9t", "--json"))["any together"] == 0


def test_without_the_rules_the_two_that_changed_together_are_alike(asks: Types) -> None:
    ruled, flat = (one_object(asks("why", "9t", *x, "--json")) for x in ((), ("--flat",)))
    chance = {one["what"]: one["chance"] for one in flat["suspects"]}
    two = ("polyglyceryl-3-diisostearate", "sodium-chloride")
    assert chance[two[0]] == pytest.approx(chance[two[1]])
    assert {one["what"]: one["unruled"] for one in ruled["suspects"]} == pytest.approx(chance)
    assert "from the" not in asks("why", "9t", "--flat")


def test_a_rate_is_one_of_three_words(asks: Types) -> None:
    always = one_object(asks("why", "9t", "--rate", "always", "--json"))
    mixed = one_object(asks("why", "9t", "--json"))
    assert (always["rate"], mixed["rate"]) == ("always", "mixed")
    cold = [next(s["chance"] for s in one["suspects"] if "water phase" in s["what"])
            for one in (always, mixed)]  # fmt: skip
    assert cold[0] < cold[1]  # R8 was cold and held: a cause that always acts is cleared sooner
    assert "is no rate" in asks("why", "9t", "--rate", "never", code=2)


def test_its_json_is_one_object_and_holds_the_chances(asks: Types) -> None:
    found = one_object(asks("why", "9t", "--json"))
    assert (found["failed"], found["good"], found["until"]) == ("9T", "4M", "by day 7")
    chances = [one["chance"] for one in found["suspects"]]
    assert chances == sorted(chances, reverse=True)
    assert all(0 <= one <= found["any cause"] <= 1 for one in chances)
    assert found["any cause before"] < found["any cause"]
    assert found["not apart"] == [
        {"names": ["polyglyceryl-3-diisostearate", "sodium-chloride"], "never": True}
    ]


def test_what_cannot_be_asked_is_said_with_a_way_on(asks: Types) -> None:
    assert "4M hasn't failed" in asks("why", "4m", code=2)
    assert "labbook outcomes SBC" in asks("why", "4m", code=2)
    assert "against itself" in asks("why", "9t", "9t", code=2)
    asks("why", "zz", code=2)


# next ------------------------------------------------------------------------------------------


def test_the_next_batch_tells_the_two_apart_with_one_change(asks: Types) -> None:
    shown = asks("next", "9t")
    for line in ("make        50 g of SBC@1 with one change", "sodium-chloride 0.80 → 0.40 %",
                 "beside it   50 g of SBC@1 as it is", "test only, not for use",
                 "if it separates", "if it holds", "an answer in 7 days"):  # fmt: skip
        assert line in shown
    assert asks("next", "9t", "4m") == asks("next", "4m", "9t") == shown


def test_what_is_kept_is_not_changed(asks: Types) -> None:
    kept = one_object(asks("next", "9t", "--keep", "sodium-chloride", "--json"))
    assert "sodium-chloride at 0.80 %" in kept["keep"]
    assert not any("sodium-chloride" in one for one in kept["change"])
    with_figure = one_object(asks("next", "9t", "--keep", "sodium-chloride=0.80", "--json"))
    assert with_figure["change"] == kept["change"]
    said = asks("next", "9t", "--keep", "argan-oil", code=2)
    assert "is none of the differences" in said
    assert "sodium-chloride" in said


def test_both_outcomes_are_foretold_in_its_json(asks: Types) -> None:
    found = one_object(asks("next", "9t", "--json"))
    assert found["fails"]["chance"] + found["holds"]["chance"] == pytest.approx(1)
    assert found["bits"] > 0
    assert "bits" not in asks("next", "9t")
    kept = one_object(asks("next", "9t", "--keep", "sodium-chloride", "--json"))
    assert kept["bits"] < found["bits"]  # the best comes first


@pytest.mark.parametrize(
    "typed_words",
    ["why 9t --explain", "why SBC", "why 9t --pairs", "next 9t", "next 9t --keep sodium-chloride"],
)
def test_no_line_is_wider_than_a_screen(asks: Types, typed_words: str) -> None:
    lines = asks(*typed_words.split()).splitlines()
    # An address is never broken, so that it can be followed.
    assert not [line for line in lines if len(line) > 80 and len(line.split()) > 1]


# The trial -------------------------------------------------------------------------------------


def made_of(said: str) -> tuple[str, str]:
    """The two characters of the trial, and of the repeat beside it."""
    trial = re.search(r"^([0-9A-Z]{2})  trial of SBC@1, 50 g", said, re.MULTILINE)
    control = re.search(r"^([0-9A-Z]{2})  SBC@1, 50 g", said, re.MULTILINE)
    assert trial
    assert control
    return trial[1].lower(), control[1].lower()


def test_the_trial_and_its_repeat_are_opened_and_the_formula_stays(root: Path) -> None:
    does = typed(root)
    formulas = {path: path.read_bytes() for path in (root / "formulas").iterdir()}
    before, branch, head = git(root, "status", "--short"), git(root, "branch"), git(
        root, "rev-parse", "HEAD"
    )  # fmt: skip
    trial, control = made_of(does("next", "9t", "--make"))

    assert {path: path.read_bytes() for path in (root / "formulas").iterdir()} == formulas
    assert git(root, "status", "--short") == before
    assert git(root, "branch") == branch
    wrote = git(root, "diff", "--name-status", f"{head.strip()}..HEAD").split("\n")[:-1]
    assert sorted(line.split("\t")[1].split("-")[-1] for line in wrote) == sorted([
        f"{control.upper()}/batch.yaml", f"{trial.upper()}/batch.yaml",
        f"{trial.upper()}/formula.yaml",
    ])  # fmt: skip
    assert all(line.startswith("A\t") for line in wrote)
    checked = does("check").splitlines()[0]
    assert checked.startswith("3 formulas, 17 batches")
    assert "error" not in checked

    shown = does("show", trial)
    assert "test only, not for use" in shown
    assert "trial of SBC@1" in shown
    content = next(root.glob(f"batches/*/*-{trial.upper()}/formula.yaml")).read_text("utf-8")
    assert re.search(r"sodium-chloride\W+(percent: )?0\.40?\b", content)
    assert "5 versions, 10 batches" in does("log", "SBC")


def test_alone_the_trial_has_no_repeat(root: Path) -> None:
    does = typed(root)
    said = does("next", "9t", "--make", "--alone", "--size", "80g")
    assert "trial of SBC@1, 80 g" in said
    assert "repeat of" not in said


def week_later(root: Path) -> None:
    """Moves the sample's clock, which stands still, by hand, as its owner would."""
    settings = root / "labbook.yaml"
    text = settings.read_text(encoding="utf-8")
    assert "today: 2026-04-16" in text
    settings.write_text(text.replace("today: 2026-04-16", "today: 2026-04-23"), encoding="utf-8",
                        newline="\n")  # fmt: skip
    git(root, "commit", "-qm", "A week later", "--", "labbook.yaml")


def test_a_trial_is_too_young_and_then_it_tells(root: Path) -> None:
    does = typed(root)
    trial, control = made_of(does("next", "9t", "--make"))
    assert "too young to say anything; by day 7 it will" in does("why", trial)
    for name in (trial, control):
        does("close", name)
    week_later(root)
    assert "too young" in does("why", trial)  # a week old, and nobody has looked

    said = does("look", f"{trial}.1", "3", "water-below")
    assert "failed by day 7" in said
    assert "before" in said  # unasked
    does("look", f"{control}.1", "0")
    shown = does("why", trial)
    assert "failed by day 7" in shown
    assert one_object(does("why", trial, "--json"))["outcome"] == "failed by day 7"
    rows = {line.split()[0]: line for line in shown.splitlines() if "→" in line}
    assert list(rows)[-3:] == ["sodium-chloride", "polyglyceryl-3-diisostearate", "water"]
    salt = re.search(r"possible, (\d) in (\d+) +→ \w+, (\d) in (\d+)", rows["sodium-chloride"])
    assert salt is not None
    a, b, c, d = (int(part) for part in salt.groups())
    assert c / d > a / b  # more may be said of it than before
    whole = does("why", "9t", "4m")
    assert "failed: 2 of 2 batches like 9T" in whole
    assert f"{trial.upper()} had 4.5" in whole
    assert "error" not in does("check").splitlines()[0]


def test_a_trial_that_held_turns_the_picture_the_other_way(root: Path) -> None:
    does = typed(root)
    trial, control = made_of(does("next", "9t", "--make"))
    for name in (trial, control):
        does("close", name)
    week_later(root)
    for name in (trial, control):
        does("look", f"{name}.1", "0")
    rows = {line.split()[0]: line for line in does("why", trial).splitlines() if "→" in line}
    assert re.search(r"possible, 1 in \d +→ unlikely", rows["sodium-chloride"])
    assert re.search(r"possible, 1 in \d +→ possible", rows["polyglyceryl-3-diisostearate"])


# Jars, costs, figures --------------------------------------------------------------------------


def test_a_jar_is_named_wherever_a_batch_is(asks: Types) -> None:
    assert "Why did 9T.1 separate, and 4M not?" in asks("why", "9t.1")
    assert "50 g of SBC@1 with one change" in asks("next", "9t.1")
    assert "Its jars: 1, 2, 3" in asks("why", "9t.7", code=2)


def test_the_runner_up_is_named(asks: Types) -> None:
    found = one_object(asks("why", "9t", "--json"))
    assert found["runner up"] == "R8"
    assert "R8 would be the next to set beside 9T." in asks("why", "9t")


def test_next_says_what_both_batches_take(asks: Types, root: Path) -> None:
    assert "takes       2 x 50 g; ingredients 0.89 EUR" in asks("next", "9t")
    doubled = one_object(asks("next", "9t", "--size", "100g", "--json"))
    assert doubled["costs"] == "2 x 100 g; ingredients 1.78 EUR"
    for lot in (root / "lots").iterdir():
        text = lot.read_text("utf-8")
        lot.write_text(re.sub(r"(?m)^price:.*\n", "", text), "utf-8")
    assert "no pack of these ingredients has a price" in typed(root)("next", "9t")


def test_figures_behind_the_next_batch_are_shown_when_asked_for(asks: Types) -> None:
    assert "bits" not in asks("next", "9t")
    told = asks("next", "9t", "--explain")
    bits = one_object(asks("next", "9t", "--json"))["bits"]
    assert f"It tells {bits:.3f} bits" in told


def test_every_command_that_next_prints_can_be_typed_as_it_stands(asks: Types) -> None:
    import shlex

    for failed in ("9t", "b6"):
        for step in one_object(asks("next", failed, "--json"))["then"]:
            words = shlex.split(step["command"])[1:]
            if "--make" not in words:
                asks(*words)
