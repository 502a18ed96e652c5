"""What `check` keeps silent about: all that a maker may rightly do."""

from __future__ import annotations

from labbook.work.bench import Bench
from labbook.work.check import check
from labbook.work.close import Filling, close
from labbook.work.correct import correct, drop
from labbook.work.formulas import new_formula
from labbook.work.look import look
from labbook.work.look_later import correct_look, move
from labbook.work.make import Wish, make
from labbook.work.note import note
from labbook.work.save import restore, save, undo
from labbook.work.seeing import Seen
from tests.notebook.repos import put
from tests.work.corruptions import ALL
from tests.work.harm import commit_by_hand, swap
from tests.work.notebooks import PATH, Maker, Small, findings, grams, rules, weigh_all

BY_NAME = {harm.name: harm for harm in ALL}


def test_the_sound_notebook_has_no_finding(small: Small) -> None:
    result = check(Bench(small.root))
    assert result.problems == ()
    assert (result.formulas, result.batches, result.looks) == (2, 3, 2)


def test_words_alone(small: Small, maker: Maker) -> None:
    maker.edits(PATH, "# invented", "# invented, and tried")
    assert save(maker.bench, "HC").new is False
    assert findings(small) == ()
    path = small.path(small.first)
    text = (small.root / path).read_text(encoding="utf-8")
    put(small.root, path, "# my own words\n" + text.replace("lines:\n", "lines:   # as copied\n"))
    commit_by_hand(small.root, "comments")
    assert findings(small) == ()


def test_restore_undo_and_new_numbers(small: Small, maker: Maker) -> None:
    restore(maker.bench, "HC@1")
    assert findings(small) == ()
    undo(maker.bench)
    assert findings(small) == ()
    maker.edits(PATH, "percent: 3}", "percent: 2}")
    assert save(maker.bench, "HC").number == 5
    assert findings(small) == ()
    maker.edits(PATH, "percent: 2}", "percent: 1}")
    commit_by_hand(small.root, "by hand, not numbered")
    assert findings(small) == ()
    assert save(maker.bench, "HC").number == 6
    assert findings(small) == ()
    undo(maker.bench)
    assert findings(small) == ()
    assert make(maker.bench, "HC", Wish()).batch.formula.version == 7
    assert findings(small) == ()


def test_undo_of_everything_that_a_batch_went_through(small: Small, maker: Maker) -> None:
    while True:
        said = undo(maker.bench)
        assert findings(small) == (), said
        if said.subject.startswith("Open") and small.first[-2:] in said.subject:
            return


def test_closed_again_after_an_undo(small: Small, maker: Maker) -> None:
    batch = make(maker.bench, "HC", Wish()).batch.id
    weigh_all(maker, batch)
    close(maker.bench, batch, Filling(jars=1, yield_=grams("96 g")))
    undo(maker.bench)
    note(maker.bench, batch, ["pH 5.0"])
    close(maker.bench, batch, Filling(jars=2, yield_=grams("95 g")))
    assert findings(small) == ()
    path = small.path(batch)
    maker.edits(path, "yield: 95 g", "yield: 96 g")
    assert rules(small) == ["closed-batch-changed"]


def test_corrections_drops_looks_and_moves(small: Small, maker: Maker) -> None:
    short = small.first[-2:]
    correct(maker.bench, small.first, "r1.value=5.2", "read again")
    look(maker.bench, f"{short}.2", Seen(grade=0))
    correct_look(maker.bench, f"{short}.1", "o2", ["grade=2"], "looked again")
    move(maker.bench, f"{short}.3", "room")
    text = (small.root / small.path(small.first, "jars.yaml")).read_text(encoding="utf-8")
    put(small.root, small.path(small.first, "jars.yaml"), text.replace(
        '{id: "j1", jar: "1", ', '{id: "j1", jar: "1", given to: a friend, note: kept warm, '
    ))  # fmt: skip
    commit_by_hand(small.root, "who has it")
    assert findings(small) == ()
    text = (small.root / small.path(small.first, "jars.yaml")).read_text(encoding="utf-8")
    put(small.root, small.path(small.first, "jars.yaml"), text.replace("given to: a friend, ", ""))
    assert findings(small) == ()
    drop(maker.bench, small.second, "mixed up the jars")
    drop(maker.bench, small.open, "never made")
    assert findings(small) == ()


def test_a_figure_edited_by_hand_becomes_a_correction(small: Small, maker: Maker) -> None:
    for words in (("w1.mass=14.30", "misread"), ("r1.value=5.0", "meter off")):
        BY_NAME["weighed mass"].do(small, small.root)
        assert rules(small) == ["closed-batch-changed"]
        correct(maker.bench, small.first, *words)
        assert findings(small) == ()
    as_before = Bench(small.root).batch(small.first)
    assert [c.id for c in as_before.corrections] == ["c1", "c2", "c3"]


def test_renamed_sheets_and_other_names(small: Small) -> None:
    (small.root / "ingredients" / "beeswax.yaml").rename(
        small.root / "ingredients" / "beeswax-white.yaml"
    )
    sheet = small.root / "ingredients" / "glycerin.yaml"
    names = [n for n in sheet.read_text(encoding="utf-8").splitlines() if n.startswith("also:")]
    put(small.root, str(sheet), sheet.read_text(encoding="utf-8").replace(
        names[0], names[0].replace("[", "[the sweet one, ")
    ))  # fmt: skip
    assert findings(small) == ()
    commit_by_hand(small.root, "another name")
    assert findings(small) == ()
    text = (small.root / PATH).read_text(encoding="utf-8")
    put(small.root, PATH, swap("beeswax: 2.5", "beeswax-white: 2.5")(text))
    assert findings(small) == ()


def test_a_formula_under_another_code(small: Small, maker: Maker) -> None:
    text = (small.root / PATH).read_text(encoding="utf-8")
    (small.root / PATH).unlink()
    put(small.root, "formulas/STUDIO.yaml", swap("code: HC", "code: STUDIO")(text))
    assert findings(small) == ()
    commit_by_hand(small.root, "another code")
    assert findings(small) == ()
    maker.edits("formulas/STUDIO.yaml", "percent: 3}", "percent: 2}")
    assert save(maker.bench, "STUDIO").number == 4
    make(maker.bench, "STUDIO", Wish())
    assert findings(small) == ()
    new_formula(maker.bench, "NEXT", parent="STUDIO@2")
    save(maker.bench, "NEXT")
    assert findings(small) == ()


def test_open_batches_are_the_makers_own(small: Small, maker: Maker) -> None:
    weigh_all(maker, small.open)
    maker.edits(small.path(small.open), "mass: 14.02 g", "mass: 14.12 g")
    commit_by_hand(small.root, "while it is open")
    assert findings(small) == ()
