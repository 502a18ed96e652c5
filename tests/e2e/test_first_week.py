"""A maker's first week with the installed command: from an empty folder to a corrected batch."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.conftest import RunLabbook
from tests.e2e.bench import Hand, ended
from tests.notebook.repos import git_says, put, subjects
from tests.work.notebooks import PATH

# Starting and writing formulas --------------------------------------------------------------------


def test_from_an_empty_folder_to_a_closed_batch(run_labbook: RunLabbook, tmp_path: Path) -> None:
    def does(*words: str) -> str:
        return ended(run_labbook(*words, cwd=tmp_path / "nb" if made else tmp_path)).out

    made = False
    assert "a repository of its own" in does("init", "nb", "--title", "Wheel room")
    made = True
    kinds = {"AA": "water-in-oil", "BB": "oil-in-water", "CC": "anhydrous", "DD": "gel"}
    for code, kind in kinds.items():
        assert f"formulas/{code}.yaml" in does("formula", "new", code, "--type", kind)
    assert "4 formulas, 0 batches, 0 looks: nothing found" in does("check")
    path = tmp_path / "nb" / "formulas" / "AA.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("percent: 3.8", "percent: 4.1"), encoding="utf-8")
    does("save", "BB")
    said = does("make", "AA", "--size", "50 g", "--aim", "a softer cream")
    assert "AA@1 first, because it changed: first version" in said
    assert re.search(r"polyglyceryl-2-dipolyhydroxystearate +2\.05  g", said)
    assert said.count("phase B") == 1
    assert "aim         a softer cream" in does("show", said.split("\n\n")[1][:2])
    assert "open" in does()
    assert "3.8" not in does("log", "AA")  # the first version has the figure of the hand edit
    does("close", "--jars", "1", "--places", "room")
    assert "closed" in does("show", re.findall(r"AA-\d{6}-\w\w", said)[0])
    assert subjects(tmp_path / "nb")[-1].startswith("Close ")
    assert git_says(tmp_path / "nb", "status", "--porcelain") == ""


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("NEW",), "Which kind of formula is NEW?"),
        (("NEW", "--type", "cream"), "cream is not an emulsion type with a starter."),
        (("TOOLONGACODE", "--type", "gel"), "TOOLONGACODE is no code."),
        (("HC", "--type", "gel"), "HC is there already."),
        (("NEW", "--from", "HC@77"), "HC has no version 77."),
    ],
)
def test_a_formula_that_cannot_begin_so(hand: Hand, words: tuple[str, ...], what: str) -> None:
    said = hand.does("formula", "new", *words, code=2)
    assert what in said
    assert "\nmend " in said or "mend " in said
    assert git_says(hand.root, "status", "--porcelain") == ""


def test_a_formula_from_another_version(hand: Hand) -> None:
    assert "from HC@1" in hand.does("formula", "new", "SOFT", "--from", "HC@1")
    text = (hand.root / "formulas/SOFT.yaml").read_text(encoding="utf-8")
    assert "code: SOFT" in text
    assert 'from: "HC@1"' in text or "from: HC@1" in text
    assert "beeswax: 1.5" in text  # HC@2 has 2.5
    assert "# invented" in text
    assert "0 versions" in hand.does("log", "SOFT")


# Versions -----------------------------------------------------------------------------------------


def test_a_hand_edit_is_told_numbered_and_restored(hand: Hand) -> None:
    assert "nothing to save" in hand.does("save", "HC")
    text = (hand.root / PATH).read_text(encoding="utf-8")
    put(hand.root, PATH, text.replace("beeswax: 2.5", "beeswax: 3.5  # firmer"))
    assert "changed since HC@3" in hand.does("show", "HC")
    assert re.search(r"changed +beeswax +A +2\.5 +3\.5 +% +\+1\.0", hand.does("diff", "HC"))
    assert "beeswax 2.5 → 3.5 %" in hand.does()
    assert hand.does("save", "HC", "-m", "firmer in the jar").startswith("HC@4 saved")
    assert '"firmer in the jar"' in hand.does("log", "HC")
    assert "# firmer" in (hand.root / PATH).read_text(encoding="utf-8")
    assert "HC@5 has the content of HC@1" in hand.does("restore", "HC@1")
    assert "beeswax: 1.5" in (hand.root / PATH).read_text(encoding="utf-8")
    log = hand.does("log", "HC")
    assert "same as @1" in log
    assert re.findall(r"^@(\d)", log, re.MULTILINE) == ["5", "4", "3", "2", "1"]
    hand.does("undo")
    assert "# firmer" in (hand.root / PATH).read_text(encoding="utf-8")


def test_a_long_change_is_told_once_in_the_log(hand: Hand) -> None:
    text = (hand.root / PATH).read_text(encoding="utf-8")
    long = text.replace("polyglyceryl-3-diisostearate: 4.5", "polyglyceryl-3-diisostearate: 3.5")
    put(
        hand.root,
        PATH,
        long.replace("sodium-chloride, percent: 0.8", "sodium-chloride, percent: 2"),
    )
    hand.does("save", "HC")
    assert "…" not in hand.does("log", "HC")


def test_every_way_to_name_a_version(hand: Hand) -> None:
    log = json.loads(hand.does("log", "HC", "--json"))
    first = log["entries"][-1]["version"]
    commit = first["commit"]  # digits alone would be the number of a version
    short = next(commit[:n] for n in range(9, len(commit)) if not commit[:n].isdigit())
    for name in ("HC@1", "hc@1", f"HC@{short}", f"HC@#{first['digest'][:8]}"):
        shown = json.loads(hand.does("show", name, "--json"))
        (wax,) = [line for line in shown["lines"] if line["ingredient"] == "beeswax"]
        assert wax["percent"] == "1.5", name
    assert "HC was not in the notebook on 2020-01-01" in hand.does("show", "HC@2020-01-01", code=2)
    assert "HC has no version 9" in hand.does("show", "HC@9", code=2)
    assert "is no day" in hand.does("show", "HC@2026-13-40", code=2)
    assert "digest that begins with ffff" in hand.does("show", "HC@#ffff", code=2)
    assert hand.does("show", "HC@" + log["entries"][0]["version"]["when"][:10])


def test_undo_goes_back_step_by_step_and_stops_at_the_start(hand: Hand) -> None:
    before = git_says(hand.root, "rev-parse", "HEAD^{tree}")
    hand.does("note", "smells of almonds")
    hand.does("batch", "drop", hand.small.second, "-m", "mislabelled")
    assert "Drop" in hand.does("undo")
    assert "almonds" in hand.does("undo")
    assert git_says(hand.root, "rev-parse", "HEAD^{tree}") == before
    # The step before these is taken back next, not the undoing.
    assert "A at 70" in hand.does("undo").replace("phase A", "A")


def test_the_start_of_a_notebook_is_not_undone(run_labbook: RunLabbook, tmp_path: Path) -> None:
    ended(run_labbook("init", "nb", cwd=tmp_path))
    said = ended(run_labbook("undo", cwd=tmp_path / "nb"), 2).err
    assert "nothing in it to undo" in said
    assert (tmp_path / "nb" / "labbook.yaml").exists()


def test_undo_leaves_a_commit_by_hand_alone(hand: Hand) -> None:
    put(hand.root, "journal/mine.md", "mine\n")
    git_says(hand.root, "add", "journal")
    git_says(hand.root, "commit", "-qm", "my own")
    assert "'my own', was not made by a recording command" in hand.does("undo", code=2)


# Weighing with arguments --------------------------------------------------------------------------


def test_weighing_takes_masses_as_a_number_pad_types_them(hand: Hand) -> None:
    said = hand.does("weigh", "beeswax=2,51", "glycerin=*", "sodium-benzoate=.5")
    assert re.search(r"^written +beeswax 2\.51 g", said, re.MULTILINE)
    assert "glycerin 3.00 g, as target, not read" in said
    batch = hand.batch(hand.open)
    assert [str(w.mass) for w in batch.weighings] == ["2.51 g", "3.00 g", "0.5 g"]
    assert [bool(w.as_target) for w in batch.weighings] == [False, True, False]
    assert len(git_says(hand.root, "log", "--format=%h", "-1", "--stat").splitlines()) == 4


def test_a_second_portion_and_a_figure_instead(hand: Hand) -> None:
    hand.does("weigh", "beeswax=1.5")
    assert "weighed already" in hand.does("weigh", "beeswax=1", code=2)
    hand.does("weigh", "beeswax+=1.0")
    assert re.search(r"beeswax +2\.50 +2\.5 ", hand.does("weigh", "--show"))
    hand.does("weigh", "beeswax:=2.4")
    batch = hand.batch(hand.open)
    assert [w.struck for w in batch.weighings] == ["weighed again", "weighed again", None]


def test_weighing_writes_all_of_it_or_nothing(hand: Hand) -> None:
    before = git_says(hand.root, "rev-parse", "HEAD")
    for words, what in (
        (("beeswax=2.5", "glycerin=abc"), "'abc' is no weight"),
        (("beeswax=2.5", "beeswax=2.6"), "stands there twice"),
        (("beeswax=2.5", "glycrin=3"), f"{hand.open} has no glycrin, but it has glycerin"),
        (("beeswax=2.5", "--lot", "nope"), "no lot nope"),
        (("beeswax=2.5", "--premix", "zz"), "no batch zz"),
        (("beeswax=2.5", "--premix", hand.open), "can't be made from itself"),
    ):
        assert what in hand.does("weigh", *words, code=2)
    assert hand.batch(hand.open).weighings == ()
    assert git_says(hand.root, "rev-parse", "HEAD") == before


def test_what_no_line_foresaw_is_kept_and_said(hand: Hand) -> None:
    assert "honey 2 g; no line foresaw it" in hand.does("weigh", "honey=2")
    assert "glycrin 3 g" in hand.does("weigh", "glycrin=3", "--added")
    assert re.search(r"added +honey", hand.does("show", hand.open))


def test_the_pack_in_use_is_written_beside_the_weight(hand: Hand) -> None:
    assert "beeswax 2.5 g, lot beeswax-0815" in hand.does("weigh", "beeswax=2.5")


# Noting -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("pH 5.4",), "pH 5.4 of the water phase"),
        (("pH", "5,4"), "pH 5.4 of the water phase"),
        (("A 72 B 71",), "phase A at 72 °C, phase B at 71 °C"),
        (("room 21 C 45 %",), "room at 21 °C, 45 % humidity"),
        (("combine 6 min",), "took 6 min (s2)"),
        (("blender speed 2",), "speed 2 (s2)"),
        (("type w/o, a drop in water and in oil",), "emulsion type water-in-oil, by a drop"),
        (("smells", "of", "almonds"), "remark: smells of almonds"),
        (("2 drops more acid", "--deviation"), "deviation: 2 drops more acid"),
        (("pH 5.1; A 70, B 69", "mixed 4 min"), "mixed 4 min (s2)"),
    ],
)
def test_what_is_noted_is_repeated_back(hand: Hand, words: tuple[str, ...], said: str) -> None:
    told = hand.does("note", *words)
    assert said in told
    assert told.startswith(hand.open)
    assert git_says(hand.root, "status", "--porcelain") == ""


def test_a_batch_is_named_before_or_after(hand: Hand) -> None:
    for words in ((hand.open, "pH 5.0"), ("pH 5.0", hand.open), (hand.small.open, "pH 5.0")):
        said = hand.does("note", *words)
        assert "remark" not in said
    assert len(hand.batch(hand.open).readings) == 3
    assert "nothing to note" in hand.does("note", hand.open, code=2)
    assert "nothing to note" in hand.does("note", code=2)
    unknown = next(n for n in ("1q", "2q", "3q") if n.upper() not in str(hand.small))
    assert f"no batch {unknown}" in hand.does("note", unknown, "pH 5", code=2)


def test_a_ph_of_the_finished_water_in_oil_cream_is_kept_and_said(hand: Hand) -> None:
    hand.does("note", "combine 6 min")
    said = hand.does("note", "pH 6.8")
    assert "pH 6.8 of the finished emulsion" in said
    assert "compared with" in said
    assert str(hand.batch(hand.open).readings[-1].value) == "6.8"


def test_what_takes_the_place_of_something_is_said(hand: Hand) -> None:
    said = hand.does("note", "s1 A 75")
    assert "takes the place of phase A 70 °C" in said


# Closing ------------------------------------------------------------------------------------------


def test_closing_as_last_time_and_otherwise(hand: Hand) -> None:
    said = hand.does("close", "--yield", "95 g")
    assert re.search(rf"jars +{hand.open}\.1  room", said)
    assert "not weighed: sunflower-oil" in said
    jars = hand.jars(hand.open)
    assert [stay.condition for stay in jars.stays] == ["room"]
    assert "closed already, on 20" in hand.does("close", hand.open, code=2)
    assert "+00:00" not in hand.does("close", hand.open, code=2)
    name = hand.opens("HC")
    assert "2 places were named" in hand.does(
        "close", "--jars", "3", "--places", "room,fridge", code=2
    )
    said = hand.does(
        "close", "--jars", "2", "--places", "room,fridge", "--container", "30 ml glass"
    )
    assert f"{name}.2  fridge, 30 ml glass" in said
    assert "No batch is open" in hand.does("close", code=2)
    assert "is closed; a note would change it" in hand.does("note", name, "late", code=2)
    assert "is closed; a weighing would" in hand.does("weigh", name, "beeswax=1", code=2)


def test_the_first_jars_are_asked_for(run_labbook: RunLabbook, tmp_path: Path) -> None:
    from tests.e2e.terminal import at_terminal

    ended(run_labbook("init", "nb", cwd=tmp_path))
    root = tmp_path / "nb"
    ended(run_labbook("formula", "new", "DD", "--type", "gel", cwd=root))
    ended(run_labbook("make", "DD", cwd=root))
    answers = [("How many jars", "2"), ("Where does each stand", "room,fridge")]
    said = ended(at_terminal("close", cwd=root, answers=answers)).out
    assert ".2  fridge" in said


# Correcting ---------------------------------------------------------------------------------------


def test_a_correction_stands_beside_the_first_figure(hand: Hand) -> None:
    first = hand.small.first[-2:]
    said = hand.does("batch", "correct", first, "beeswax=1,40", "-m", "read upside down")
    assert f"{first}, beeswax (w2): corrected" in said
    batch = hand.batch(first)
    assert str(batch.weighings[1].mass) == "1.52 g"
    assert (batch.corrections[-1].was, batch.corrections[-1].now) == ("1.52 g", "1.40 g")
    shown = hand.does("show", first)
    assert "beeswax (w2): 1.52 g → 1.40 g, read upside down" in shown
    assert re.search(r"beeswax +1\.50 +1\.40 ", shown)
    assert "nothing found" in hand.does("check", first)


@pytest.mark.parametrize(
    ("what", "said"),
    [
        (("beeswax=1.4",), "needs its reason"),
        (("beeswax", "-m", "x"), "says nothing to correct"),
        (("nix=1", "-m", "x"), "has no nix"),
        (("r1.value=abc", "-m", "x"), "value of r1 can't be that"),
        (("r1.foo=1", "-m", "x"), "no 'foo' that could be corrected"),
        (("r9.value=5", "-m", "x"), "has no entry r9"),
        ((), "Correct what?"),
    ],
)
def test_a_correction_that_cannot_be(hand: Hand, what: tuple[str, ...], said: str) -> None:
    first = hand.small.first
    assert said in hand.does("batch", "correct", first, *what, code=2)
    assert len(hand.batch(first).corrections) == 1


def test_a_closed_batch_edited_by_hand_is_put_back(hand: Hand) -> None:
    path = hand.small.path(hand.small.first)
    text = (hand.root / path).read_text(encoding="utf-8")
    put(hand.root, path, text.replace("mass: 1.52 g", "mass: 1.25 g"))
    found = ended(hand.run("check", cwd=hand.root), 1).out
    assert "closed-batch-changed" in found
    said = hand.does("batch", "correct", hand.small.first, "--as-closed")
    assert "as it was closed again" in said
    assert (hand.root / path).read_text(encoding="utf-8") == text
    assert "nothing found" in hand.does("check")
    assert "nothing was changed" in hand.does(
        "batch", "correct", hand.small.first, "--as-closed", code=2
    )


def test_a_dropped_batch_is_out_of_every_list(hand: Hand) -> None:
    second = hand.small.second[-2:]
    assert "needs its reason" in hand.does("batch", "drop", second, code=2)
    hand.does("batch", "drop", second, "-m", "mislabelled")
    assert f"\n{second} " not in hand.does("batch", "list")
    assert "dropped: mislabelled" in hand.does("batch", "list", "--dropped")
    assert f"  {second} " not in hand.does("log", "HC")
    assert "dropped     mislabelled" in hand.does("show", second)
    assert "dropped already" in hand.does("batch", "drop", second, "-m", "x", code=2)


# Later, parts, premixes ---------------------------------------------------------------------------


def test_a_batch_from_paper_says_so_for_each_value(hand: Hand) -> None:
    assert "known" in hand.does("make", "HC", "--made", "2026-02-20", code=2)
    assert "needs its day" in hand.does("make", "HC", "--from", "paper", code=2)
    assert "From letter?" in hand.does("make", "HC", "--made", "2026-02-20", "--from", "letter",
                                       code=2)  # fmt: skip
    assert "not come yet" in hand.does("make", "HC", "--made", "2990-01-01", "--from", "paper",
                                       code=2)  # fmt: skip
    name = hand.opens("HC", "--made", "2026-02-20", "--from", "paper")
    assert "from paper" in hand.does("weigh", name, "beeswax=2.5")
    hand.does("note", name, "pH 5.2", "A 70 B 70")
    hand.does("close", name)
    batch = hand.batch(name)
    assert batch.id.startswith("HC-260220-")
    assert [(w.known_from, w.time) for w in batch.weighings] == [("paper", None)]
    assert [(r.known_from, r.time) for r in batch.readings] == [("paper", None)]
    # Ages count from filling: the jars are as old as the batch, not as the typing.
    assert {str(jar.filled) for jar in hand.jars(name).jars} == {"2026-02-20"}
    assert "known from paper" in hand.does("show", name)


def test_a_part_of_a_batch_is_not_weighed_again(hand: Hand) -> None:
    first = hand.small.first[-2:]
    said = hand.does("make", "HC@1", "--split", f"{first}:40g")
    assert f"{hand.small.first}, split, 40 g" in said
    assert "HC@1, 40 g" in said
    name = said[:2]
    assert "unknown" not in hand.does("weigh", name, "honey=1")
    assert "not weighed" not in hand.does("close", name, "--jars", "0")
    assert re.search(rf"went into +{name}  HC@1", hand.does("show", first))
    assert "can't come from it" in hand.does("make", "HC", "--split", f"{first}:4 kg", code=2)
    assert "How much of" in hand.does("make", "HC", "--split", first, code=2)
    assert "no batch zz" in hand.does("make", "HC", "--split", "zz:5g", code=2)


def test_a_rework_and_a_premix_keep_where_they_come_from(hand: Hand) -> None:
    first = hand.small.first[-2:]
    name = hand.opens("HC", "--rework", f"{first}:10g")
    assert f"{hand.small.first}, rework, 10 g" in hand.does("show", name)
    said = hand.does("weigh", name, "beeswax=2.5", "--premix", first)
    assert f"beeswax 2.5 g, from {first}" in said
    assert hand.batch(name).weighings[0].batch == hand.small.first


def test_the_sheet_has_room_and_holds_what_was_written(hand: Hand, tmp_path: Path) -> None:
    hand.does("weigh", "beeswax=2.5")
    sheet = hand.does("batch", "sheet")
    assert re.search(r"\| A \| beeswax \| 2\.5 \| 2\.50 \| 2\.5 \| beeswax-0815 \|", sheet)
    assert "A at 70 °C, B at 70 °C" in sheet
    assert "Hot oil and water burn" in sheet
    hand.does("batch", "sheet", "-o", tmp_path / "sheet.md")
    assert (tmp_path / "sheet.md").read_text(encoding="utf-8") == sheet
    assert "can't be written" in hand.does(
        "batch", "sheet", "-o", tmp_path / "nowhere" / "x.md", code=2
    )


# Long forms, materials, scaling -------------------------------------------------------------------


def test_the_long_forms_do_the_same(hand: Hand) -> None:
    name = hand.does("batch", "new", "HC@2", "--size", "40g")[:2]
    hand.does("batch", "weigh", name, "beeswax=1.00")
    assert "pH 5.4" in hand.does("batch", "note", name, "pH 5.4")
    hand.does("batch", "close", name, "--jars", "0")
    assert hand.does("batch", "show", name) == hand.does("show", name)
    assert "HC@2, 40 g" in hand.does("batch", "list", "HC")
    assert hand.does("formula", "show", "HC@1") == hand.does("show", "HC@1")
    assert "LO" in hand.does("formula", "list")


def test_ingredients_lots_and_equipment(hand: Hand) -> None:
    text = (hand.root / PATH).read_text(encoding="utf-8")
    put(hand.root, PATH, text.replace("sunflower-oil: 14", "poppy-oil-of-mine: 14"))
    assert "poppy-oil-of-mine: nothing is known of it yet" in hand.does(
        "ingredient", "new", "--missing"
    )
    assert (hand.root / "ingredients/poppy-oil-of-mine.yaml").exists()
    assert "nothing was written" in hand.does("ingredient", "new", "--missing")
    assert "Near it: beeswax" in hand.does("ingredient", "show", "bees-wax", code=2)
    said = hand.does(
        "ingredient", "lot", "add", "glycerin", "--lot", "0815", "--size", "500g",
        "--expires", "2028-01-01", "--name", "glycerin-a",
    )  # fmt: skip
    assert "glycerin-a, lot 0815, size 500 g, expires 2028-01-01" in said
    assert 'lot: "0815"' in (hand.root / "lots/glycerin-a.yaml").read_text(encoding="utf-8")
    assert "used up" in hand.does("ingredient", "lot", "use-up", "glycerin-a")
    assert "glycerin-a" not in hand.does("ingredient", "lot", "list")
    assert "glycerin-a" in hand.does("ingredient", "lot", "list", "--all")
    hand.does("equipment", "add", "bench", "--kind", "balance", "--readability", "0.1g")
    assert "shows 0.1 g" in hand.does("equipment", "list")
    hand.does("equipment", "add", "meter", "--kind", "pH meter")
    assert "meter" in hand.does(
        "equipment", "calibrate", "meter", "two-point", "--buffer", "4.01", "--buffer", "7.00"
    )
    assert "4.01" in (hand.root / "equipment/meter.yaml").read_text(encoding="utf-8")
    assert "no kind of equipment" in hand.does("equipment", "add", "m", "--kind", "mixr", code=2)
    # The first balance became the usual one: targets follow what it shows.
    assert re.search(r"beeswax.* 2\.5  g", hand.does("formula", "scale", "HC"))


def test_scaling(hand: Hand) -> None:
    said = hand.does("formula", "scale", "HC@1", "--size", "250")
    assert re.search(r"beeswax.* 3\.75  g", said)
    assert "together    250.00 g" in said
    said = hand.does("formula", "scale", "HC@1", "--have", "beeswax=3g", "--have", "glycerin=1kg")
    assert said.splitlines()[0].endswith("200.00 g") or "200 g" in said.splitlines()[0]
    assert "limited by  beeswax" in said
    assert "too little" not in hand.does("formula", "scale", "HC@1", "--size", "100")
    strict = hand.does("formula", "scale", "HC@1", "--size", "100", "--strict")
    assert re.search(r"sodium-benzoate: 0\.50 g on a balance that shows", strict)
    assert re.search(r"from a batch of \d+ g on", " ".join(strict.split()))
    assert "no amount at hand" in hand.does("formula", "scale", "HC", "--have", "beeswax", code=2)
    assert "no balance nope" in hand.does("formula", "scale", "HC", "--balance", "nope", code=2)


def test_check_counts_what_it_looked_at(hand: Hand) -> None:
    assert hand.does("check").startswith("2 formulas, 3 batches, 2 looks: nothing found")
    assert hand.does("check", "HC").startswith("HC: 1 formula, 3 batches, 2 looks:")
    assert hand.does("check", "LO").startswith("LO: 1 formula, 0 batches, 0 looks:")
    first = hand.small.first
    assert hand.does("check", first[-2:]).startswith(f"{first}: 0 formulas, 1 batch, 2 looks:")
    assert "neither a formula nor a batch nix" in hand.does("check", "nix", code=2)


def test_accepting_a_finding(hand: Hand) -> None:
    hand.does("note", "combine 6 min")
    hand.does("note", "pH 6.8")
    text = (hand.root / PATH).read_text(encoding="utf-8")
    put(hand.root, PATH, text.replace("percent: qs", "percent: 70"))
    found = hand.does("check", "HC")
    rule = re.findall(r"^  rule +([a-z0-9-]+)", found, re.MULTILINE)[0]
    assert "needs its reason" in hand.does("check", "--accept", rule, "HC", code=2)
    assert f"accepted    {rule}" in hand.does("check", "HC", "--accept", rule, "-m", "a trial")
    again = hand.does("check", "HC")
    assert f"  rule      {rule}" not in again
    assert "accepted    1 finding" in again
    assert "no finding nonsense" in hand.does("check", "--accept", "nonsense", "-m", "x", code=2)


# Help ---------------------------------------------------------------------------------------------


def test_help(hand: Hand) -> None:
    words = hand.does("help", "words")
    for word in ("notebook", "batch", "bulk", "jar", "lot", "look", "correction"):
        assert re.search(rf"^{word} ", words, re.MULTILINE), word
    assert "as last time" in hand.does("help", "close")
    assert "its records stay" in hand.does("help", "batch", "drop")
    assert "no help about nonsense" in hand.does("help", "nonsense", code=2)
    assert "Did you mean 'make'?" in hand.does("mak", code=2)
