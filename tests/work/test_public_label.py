"""The label on the page is what `formula label` says, also where chapters are read one by one."""

from dataclasses import replace
from pathlib import Path

from labbook.journal.label import draft_of
from labbook.work.journal import chapters_of, mark
from labbook.work.label import label
from labbook.work.save import save
from labbook.work.site import build
from tests.notebook.repos import put
from tests.work.notebooks import Maker, Small
from tests.work.premixes import with_premix

MIX = """\
id: keeping-mix
title: Keeping mix
inci: "Keeping Mix"
functions: [preservative]
contains:
  - {ingredient: sodium-benzoate, percent: 20}
  - {ingredient: water, percent: 80}
"""


def said_of(small: Small, folder: Path, code: str = "HC") -> tuple[str, str]:
    """The list at the terminal, and the page."""
    bench = Maker(small.root).bench
    at_terminal = label(bench, code)
    shelf = chapters_of(bench).shelf()
    journal = shelf.take({code})
    (one,) = journal.formulas
    public = draft_of(journal, one.versions[-1].formula)
    notes = [gap for gap in at_terminal.gaps if "labbook.yaml" in gap or "starter" in gap]
    told = replace(at_terminal, name="", gaps=tuple(g for g in at_terminal.gaps if g not in notes))
    build(bench, folder)
    page = (folder / f"markdown/formulas/{code}.md").read_text(encoding="utf-8")
    if public == told:
        assert f"\n{at_terminal.text}.\n" in page
    return at_terminal.text, public.text


def test_page_and_terminal_say_the_same_also_with_starter_sheets(
    small: Small, tmp_path: Path
) -> None:
    mark(Maker(small.root).bench, "HC", public=True)
    (small.root / "ingredients/glycerin.yaml").unlink(missing_ok=True)
    at_terminal, public = said_of(small, tmp_path / "site")
    assert "Glycerin" in public
    assert "Citric Acid" in public
    assert public == at_terminal


def test_a_solution_that_is_a_private_formula_comes_out_with_its_formula(
    small: Small, tmp_path: Path
) -> None:
    """And the page is written anew although no record of its own formula changed."""
    with_premix(small)
    maker = Maker(small.root)
    maker.edits("formulas/HC.yaml", "sodium-benzoate, percent: 0.5", "keeping-mix, percent: 2.5")
    put(small.root, "ingredients/keeping-mix.yaml", MIX)
    save(maker.bench, "HC")
    mark(maker.bench, "HC", public=True)
    at_terminal, public = said_of(small, tmp_path / "site")
    assert "Sodium Benzoate" in at_terminal
    assert "Sodium Benzoate" not in public
    assert "Keeping Mix" in public
    mark(maker.bench, "SBW", public=True)
    at_terminal, public = said_of(small, tmp_path / "site")
    assert public == at_terminal
    page = (tmp_path / "site/formulas/HC.html").read_text(encoding="utf-8")
    assert "Kept whole" not in page
