"""The draft for a label in public: what the terminal drafts, less what a private formula holds."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from random import Random
from typing import Any

import pytest

from labbook.journal.book import Book
from labbook.journal.label import draft_of
from labbook.journal.publish import PublicJournal, published
from labbook.model.batch import Pin, Weighing
from labbook.model.formula import Formula, Line, Phase
from labbook.model.materials import Ingredient, Part
from labbook.model.quantities import parse_quantity
from labbook.model.results.label import LabelDraft
from labbook.model.sheets import Sheets
from labbook.trade.composition import resolve
from labbook.trade.label import draft_label
from tests.journal.sample_book import BOOK
from tests.journal.site import all_bytes, site_of

OPEN = replace(
    BOOK, formulas={code: replace(one, public="yes") for code, one in BOOK.formulas.items()}
)


def at_the_terminal(formula: Formula, ingredients: Mapping[str, Ingredient], region: str = "EU"
                    ) -> LabelDraft:  # fmt: skip
    """What `formula label` drafts, of all sheets with all that they say."""
    sheets = Sheets(ingredients)
    return draft_label(resolve(formula, sheets), sheets, region=region, use=formula.use or "",
                       title=formula.title)  # fmt: skip


def contents(journal: PublicJournal) -> Iterator[Formula]:
    for one in journal.formulas:
        yield from (version.formula for version in one.versions)


def test_every_version_of_the_sample_has_the_label_that_the_terminal_drafts() -> None:
    journal = published(OPEN)
    found = list(contents(journal))
    assert len(found) == 10
    for formula in found:
        assert draft_of(journal, formula) == at_the_terminal(formula, OPEN.ingredients)
    names = [entry.name for entry in draft_of(journal, found[-1]).entries]
    assert "Citric Acid" in names  # out of its solution
    pages = site_of(OPEN).files
    for one in journal.formulas:
        last = one.versions[-1].formula
        told = at_the_terminal(last, OPEN.ingredients).text
        assert f"\n{told}.\n" in pages[f"markdown/formulas/{last.code}.md"].decode()


# Blends by chance ---------------------------------------------------------------------------------


def blended(random: Random) -> dict[str, Ingredient]:
    """Sheets some of which hold others, with allergens and names of regions."""
    names = [f"stuff-{number}" for number in range(12)]
    found = {}
    for number, name in enumerate(names):
        inner = random.sample(
            names[number + 1 :], min(len(names) - number - 1, random.randint(0, 3))
        )
        left = Decimal(100)
        parts = []
        for part in inner:
            percent = Decimal(random.randint(1, 40))
            left -= percent
            parts.append(Part(ingredient=part, percent=random.choice([percent, None])))
        found[name] = Ingredient(
            id=name,
            inci=random.choice([None, f"Stuff {number}", "Stuff Alike"]),
            functions=random.choice([(), ("fragrance",), ("pigment",), ("water",), ("blend",)]),
            contains=tuple(parts) if left >= 0 else (),
            allergens=tuple(Part(ingredient=random.choice(["linalool", "limonene", names[-1]]),
                                 percent=random.choice([None, Decimal("0.4")]))
                            for _ in range(random.randint(0, 2))),
            allergens_complete=random.choice([None, True]),
            label_names=random.choice([None, {"US": f"Stuff {number} (US)"}]),
        )  # fmt: skip
    return found


def one_formula(names: Mapping[str, Any], code: str = "SBC", **keys: Any) -> Formula:
    """A formula of some ingredients, each with its percent."""
    lines = tuple(
        Line(ingredient=name, percent=Decimal(percent)) for name, percent in names.items()
    )
    made = replace(OPEN.formulas["SBC"], code=code, title=f"A {code}", method=(), targets=(),
                   acceptance=(), notes=None, phases=(Phase(phase="A", lines=lines),))  # fmt: skip
    return replace(made, **keys)


def book_of(formulas: Mapping[str, Formula], ingredients: Mapping[str, Ingredient],
            **keys: Any) -> Book:  # fmt: skip
    """A notebook of those, one version each."""
    versions = {
        code: (replace(OPEN.versions["SBC"][0], code=code, number=1, formula=formula),)
        for code, formula in formulas.items()
    }
    empty: Mapping[str, Any] = {"batches": {}, "jars": {}, "stability": {}, "equipment": {}}
    return replace(OPEN, formulas=formulas, versions=versions, ingredients=ingredients,
                   **{**empty, **keys})  # fmt: skip


@pytest.mark.parametrize("seed", range(40))
def test_blends_are_taken_apart_as_at_the_terminal(seed: int) -> None:
    random = Random(seed)
    ingredients = blended(random)
    chosen = random.sample([*ingredients, "without-a-sheet"], 5)
    formula = one_formula({name: random.randint(1, 20) for name in chosen})
    region = random.choice(["EU", "UK", "US", ""])
    book = book_of({"SBC": formula}, ingredients,
                   settings=replace(OPEN.settings, region=region or None))  # fmt: skip
    journal = published(book)
    assert draft_of(journal, formula) == at_the_terminal(formula, ingredients, region or "EU")
    site_of(book)


def test_what_has_no_sheet_is_named_by_the_programs_own() -> None:
    starter = Ingredient(id="aqua", inci="Aqua", also=("eau",), contains=(Part(ingredient="salt"),))
    inner = Ingredient(id="salt", inci="Sodium Chloride")
    formula = one_formula({"eau": 100})
    book = book_of({"SBC": formula}, {"salt": inner}, starter={"eau": starter}.get)
    journal = published(book)
    draft = draft_of(journal, formula)
    assert draft == at_the_terminal(
        formula, {"salt": inner, "aqua": replace(starter, also=("eau",))}
    )
    assert journal.sheets.names() == ()
    assert "ingredients/aqua.html" not in site_of(book).files


def test_of_a_region_only_the_law_is_told() -> None:
    for written, told in (("Germany", "EU"), ("Atlantis", None), ("USA, France", "US, EU")):
        book = replace(OPEN, settings=replace(OPEN.settings, region=written))
        assert published(book).settings.region == told
        assert written.encode() not in all_bytes(site_of(book))


# A premix that is a private formula ---------------------------------------------------------------

HIDDEN = ("zqsecretone", "zqsecrettwo")


def secret_book(*, public: str = "no", sheet: Mapping[str, Any] | None = None,
                weighed: bool = False, content: tuple[str, ...] = HIDDEN) -> Book:  # fmt: skip
    """A public cream that holds a mixture, and another formula, which may be that mixture."""
    mixture = Ingredient(
        id="the-mixture",
        inci="Mixture",
        contains=tuple(Part(ingredient=name, percent=Decimal(50)) for name in HIDDEN),
        allergens=(Part(ingredient="zqsecretallergen", percent=Decimal(1)),),
    )
    sheets = {name: Ingredient(id=name, inci=f"Inci {name}") for name in HIDDEN}
    cream = one_formula({"the-mixture": 10, "water": 90}, id="f-cream")
    other = one_formula(
        dict.fromkeys(content, 10), "KEEP", id="f-keep", title="Keeping", public=public
    )
    keep, own = (
        Pin(code=code, id=id_, version=1, digest="", blob="")
        for code, id_ in (("KEEP", "f-keep"), ("SBC", "f-cream"))
    )
    source = replace(
        next(iter(OPEN.batches.values())),
        id="KEEP-260101-1A", formula=keep, weighings=(), lines=(), corrections=(), public="no",
    )  # fmt: skip
    mass = parse_quantity("1 g", "mass")
    weighing = Weighing(id="w1", ingredient="the-mixture", mass=mass, batch=source.id)
    user = replace(source, id="SBC-260102-2B", formula=own, weighings=(weighing,))
    return book_of(
        {"SBC": cream, "KEEP": other},
        {"the-mixture": replace(mixture, **(sheet or {})), **sheets},
        batches={one.id: one for one in (source, user)} if weighed else {},
    )


ALIKE: Mapping[str, Mapping[str, Any]] = {
    "its code": {"sheet": {"also": ("keep",)}, "content": ("water", "oil")},
    "its title": {"sheet": {"title": "KEEPING"}, "content": ("water", "oil")},
    "its ingredients": {},
    "a short formula holds its parts": {"content": (*HIDDEN, "water")},
    "it was weighed from a batch": {"weighed": True, "content": ("water", "oil")},
    "it is a premix": {"sheet": {"functions": ("premix",)}, "content": ("water", "oil")},
}


@pytest.mark.parametrize("why", ALIKE)
def test_a_private_formula_in_a_sheet_stays_inside(why: str) -> None:
    book = secret_book(**ALIKE[why])
    out = all_bytes(site_of(book))
    assert b"zqsecret" not in out.lower()
    assert b"zqsecret" not in repr(published(book)).encode().lower()
    assert b"Mixture, " in out or b", Mixture" in out
    assert b"Kept whole, since its parts and its allergens are not told here: " in out


@pytest.mark.parametrize("why", ["its code", "its title", "its ingredients",
                                 "it was weighed from a batch"])  # fmt: skip
@pytest.mark.parametrize("functions", [(), ("premix",)])
def test_a_public_formula_in_a_sheet_is_told(why: str, functions: tuple[str, ...]) -> None:
    keys = dict(ALIKE[why])
    if functions and "content" in keys and "sheet" not in keys:
        return  # of a premix its formula has to be known
    sheet = {**keys.pop("sheet", {}), "functions": functions}
    out = all_bytes(site_of(secret_book(**keys, sheet=sheet, public="yes")))
    assert b"Inci zqsecretone" in out


def test_a_blend_that_is_no_formula_is_told_by_names_and_without_percents() -> None:
    out = all_bytes(site_of(secret_book(content=("water", "oil"))))
    assert b"Inci zqsecretone, Inci zqsecrettwo" in out
    page = site_of(secret_book(content=("water", "oil"))).files["ingredients/the-mixture.html"]
    assert b"zqsecret" not in page
    assert b"50" not in page
    assert b"ingredients/zqsecretone" not in out
