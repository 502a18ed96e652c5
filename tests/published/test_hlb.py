"""HLB against printed figures and worked examples, the source beside each.

"From memory" means that nobody has looked the figure up for this test. Three entries of Table I of
PMC3969497 are arithmetic slips (HLB 9, polysorbate 80 with sorbitan laurate; HLB 9.5, polysorbate
20 with sorbitan laurate; HLB 8.5, PEG-40 hydrogenated castor oil with sorbitan oleate): their parts
don't add up to 100, and none of them is a value here.
"""

from fractions import Fraction

import pytest
from molmass import Formula

from labbook.model.errors import NotAllowed
from labbook.model.materials import Ingredient
from labbook.trade.composition import resolve
from labbook.trade.hlb import (
    DAVIES_GROUPS,
    Span,
    davies,
    from_saponification,
    griffin,
    mixed,
    share_for,
    uses_of,
)
from labbook.trade.hlb_of_formula import required
from tests.published.agreement import holds
from tests.trade.making import formula, line, sheets, value

OCL = (
    "OCL 2022, article ocl210096, Table 4, "
    "www.ocl-journal.org/articles/ocl/full_html/2022/01/ocl210096/T4.html"
)
WORKED = "worked example, es.scribd.com/document/672866704/Copia-de-Ejemplo-HLB"
TEXTBOOK = "pharmacy textbook Table 27.5 and Eq. 27.2, questionai.com.tr/amp/questions-txTZ4SHqbb0A"
BLENDS = "Table 2 of PMC4137601, pmc.ncbi.nlm.nih.gov/articles/PMC4137601/table/tab2"
TABLE = "Table I of PMC3969497, pmc.ncbi.nlm.nih.gov/articles/PMC3969497/table/Tab1"
INCI = (
    "reference table of emulsifier HLB by INCI name, "
    "cosmetics.alfa-chemistry.com/resources/reference-guide-to-hlb-values-of-common-emulsifiers"
)
ENCYCLOPAEDIA = "en.wikipedia.org/wiki/Hydrophilic-lipophilic_balance, after Griffin and Davies"
DAVIES = "Davies 1957, as tabulated at profilpelajar.com/en/Hydrophilic-lipophilic_balance"
SPAN_80 = "peel520.net/what-is-the-hlb-of-span-80/"
LISTS = "lists of HLB give rounded figures that disagree among themselves"

# What an oil phase asks for -----------------------------------------------------------------------

RHLB = ("12", "11.5", "3.8", "15", "6.2")
CREAMS = [
    (("1.5", "7.5", "7.5", "12.5", "5"), "10.33"),
    (("1.5", "7.5", "7.5", "10.5", "5"), "10.04"),
    (("1.5", "7.5", "7.5", "6.5", "5"), "9.33"),
]


@pytest.mark.parametrize(("percents", "printed"), CREAMS)
def test_required_hlb_of_the_five_oils_of_a_cream(percents: tuple[str, ...], printed: str) -> None:
    # White beeswax, isopropyl myristate, glyceryl stearate, stearic acid, a seed oil; each oil with
    # its required HLB on its sheet.
    names = [f"oil-{number}" for number in range(len(RHLB))]
    book = sheets(
        **{
            name: Ingredient(id=name, functions=("oil",), soluble_in="oil", required_HLB=value(h))
            for name, h in zip(names, RHLB, strict=True)
        }
    )
    lines = [line(name, percent) for name, percent in zip(names, percents, strict=True)]
    found = required(resolve(formula(A=[*lines, line("water", "qs")]), book), book)
    assert found.span is not None and found.span.low == found.span.high
    assert found.enough
    holds(found.span.low, printed, source=OCL)


def test_required_hlb_of_an_ointment() -> None:
    # 33 + 2 + 1 + 1 with 12, 12, 10, 15; the source prints 12.0.
    parts = [("33", "12"), ("2", "12"), ("1", "10"), ("1", "15")]
    found = mixed((Fraction(mass), Fraction(hlb)) for mass, hlb in parts)
    holds(found, "12.027", source=WORKED)
    holds(found, "12.0", source=WORKED)


def test_lists_of_required_hlb_disagree_so_that_a_range_comes_out() -> None:
    # Beeswax 9 and 12, anhydrous lanolin 12 and 10, liquid paraffin 10.5 and 12: the textbook
    # against the article and the worked example.
    spans = {"beeswax": "9-12", "lanolin": "10-12", "mineral-oil": "10.5-12"}
    book = sheets(
        **{
            name: Ingredient(id=name, soluble_in="oil", required_HLB=value(text))
            for name, text in spans.items()
        }
    )
    cream = formula(A=[line(name, "10") for name in spans])
    found = required(resolve(cream, book), book).span
    assert found is not None
    holds(found.low, "9.833", source=f"{TEXTBOOK}; {OCL}; {WORKED}")
    holds(found.high, "12.0", source=f"{TEXTBOOK}; {OCL}; {WORKED}")
    assert all(found.holds(Fraction(one)) for one in ("10", "11.5"))


# Two emulsifiers ----------------------------------------------------------------------------------


def test_a_pair_for_the_ointment() -> None:
    # Target 12.027 with polysorbate 80 (15) and sorbitan oleate (4.3), 5 % in the formula.
    target = Fraction(37 * 12 + 1 * (10 - 12) + 1 * (15 - 12), 37)
    share = share_for(target, Fraction(15), Fraction("4.3"))
    holds(100 * share, "72.2", source=WORKED)
    holds(100 * (1 - share), "27.8", source=WORKED)
    holds(5 * share, "3.6", source=WORKED)
    holds(5 * (1 - share), "1.4", source=WORKED)
    # With 12.0 exactly it is 71.96 %.
    holds(100 * share_for(Fraction(12), Fraction(15), Fraction("4.3")), "71.96", source=WORKED)


def test_a_pair_for_liquid_paraffin() -> None:
    # Target 10.5, the same two, 5 g: a fraction of 0.58, 2.9 g and 2.1 g.
    share = share_for(Fraction("10.5"), Fraction(15), Fraction("4.3"))
    holds(share, "0.5794", source=TEXTBOOK)
    holds(share, "0.58", source=TEXTBOOK)
    holds(5 * share, "2.9", source=TEXTBOOK)
    holds(5 * (1 - share), "2.1", source=TEXTBOOK)


@pytest.mark.parametrize(("one", "other", "printed"), [(9, 1, "13.93"), (7, 3, "11.79")])
def test_hlb_of_a_blend(one: int, other: int, printed: str) -> None:
    # Polysorbate 80 and sorbitan oleate, 9 to 1 and 7 to 3: exact in the source.
    found = mixed([(Fraction(one), Fraction(15)), (Fraction(other), Fraction("4.3"))])
    assert found == Fraction(printed), BLENDS
    holds(found, printed, source=BLENDS)


HLB = {"ps20": "16.7", "ps80": "15.0", "so": "4.3", "sl": "8.6"}
PAIRS = [
    ("8", "ps20", "so", "29.8", "70.2"),
    ("8", "ps80", "so", "34.6", "65.4"),
    ("10", "ps80", "sl", "21.9", "78.1"),
    ("10", "ps80", "so", "53.3", "46.7"),
    ("12", "ps80", "so", "72.0", "28.0"),
    ("15", "ps20", "so", "86.3", "13.7"),
]


@pytest.mark.parametrize(("target", "one", "other", "first", "second"), PAIRS)
def test_a_pair_for_a_target(target: str, one: str, other: str, first: str, second: str) -> None:
    share = share_for(Fraction(target), Fraction(HLB[one]), Fraction(HLB[other]))
    holds(100 * share, first, source=TABLE)
    holds(100 * (1 - share), second, source=TABLE)


def test_a_target_outside_the_pair_is_refused() -> None:
    # HLB 8 of polysorbate 20 (16.7) and sorbitan laurate (8.6) is "N/A" in the source; the plain
    # formula would say -7.4 %.
    with pytest.raises(NotAllowed, match=r"not reachable.*8\.6 to 16\.7"):
        share_for(Fraction(8), Fraction("16.7"), Fraction("8.6"))
    holds(100 * (Fraction(8) - Fraction("8.6")) / Fraction("8.1"), "-7.4", source=TABLE)


# One emulsifier from its formula ------------------------------------------------------------------

ETHOXYLATES = [
    ("steareth-2", "C18H38O", 2, "4.914", "4.9", INCI),
    ("steareth-20", "C18H38O", 20, "15.302", "15.3", INCI),
    ("ceteth-2", "C16H34O", 2, "5.331", "5.3", INCI),
    ("ceteth-10", "C16H34O", 10, "12.900", "12.9", INCI),
    ("ceteth-20", "C16H34O", 20, "15.684", "15.7", INCI),
    (
        "PEG-100 stearate",
        "C18H36O2",
        100,
        "18.787",
        "18.8",
        "swiftcraftymonkey.blogspot.com/2013/08/you-dont-need-to-use-hlb-system-for-all.html",
    ),
]


def of_ethoxylate(fatty: str, units: int) -> Fraction:
    """Griffin's HLB, the ethylene oxide part alone as hydrophilic; masses by molmass."""
    oxide = units * Fraction(Formula("C2H4O").mass)
    return griffin(oxide, oxide + Fraction(Formula(fatty).mass))


@pytest.mark.parametrize(("name", "fatty", "units", "computed", "listed", "source"), ETHOXYLATES)
def test_griffin_of_ethoxylates(
    name: str, fatty: str, units: int, computed: str, listed: str, source: str
) -> None:
    holds(of_ethoxylate(fatty, units), computed, source=f"{name} by molmass 2026.1.8", within=0.001)
    holds(of_ethoxylate(fatty, units), listed, source=f"{name}: {source}", within=0.05)


def test_griffin_and_lists_may_disagree_by_half_a_unit() -> None:
    holds(
        of_ethoxylate("C18H36O2", 40),
        "17.220",
        source="PEG-40 stearate by molmass 2026.1.8",
        within=0.001,
    )
    holds(
        of_ethoxylate("C18H36O2", 40),
        "16.9",
        source="PEG-40 stearate, from memory",
        within=0.5,
        wide=LISTS,
    )
    holds(
        of_ethoxylate("C18H34O2", 8),
        "11.102",
        source="PEG-8 oleate by molmass 2026.1.8",
        within=0.001,
    )
    holds(
        of_ethoxylate("C18H34O2", 8), "11.6", source=f"PEG-8 oleate: {INCI}", within=0.5, wide=LISTS
    )


@pytest.mark.parametrize(
    ("saponification", "acid", "computed", "listed"),
    [("161", "198", "3.74", "3.8"), ("45.5", "276", "16.70", "16.7")],
)
def test_hlb_from_saponification(
    saponification: str, acid: str, computed: str, listed: str
) -> None:
    # Glyceryl stearate and polysorbate 20. The formula was seen at peel520.net; the numbers are of
    # Griffin, J Soc Cosmet Chem 5:249 (1954), from memory.
    found = from_saponification(Fraction(saponification), Fraction(acid))
    holds(found, computed, source=SPAN_80)
    holds(found, listed, source=f"{INCI}; {TABLE}", within=0.1, wide=LISTS)


GROUPS = {
    "-SO4Na": "38.7", "-COOK": "21.1", "-COONa": "19.1", "tertiary amine": "9.4",
    "ester, sorbitan ring": "6.8", "ester, free": "2.4", "-COOH": "2.1", "-OH, free": "1.9",
    "-O-": "1.3", "-OH, sorbitan ring": "0.5",
}  # fmt: skip


@pytest.mark.parametrize(("group", "printed"), GROUPS.items())
def test_davies_group_numbers(group: str, printed: str) -> None:
    assert DAVIES_GROUPS[group] == Fraction(printed), DAVIES
    holds(davies({group: 1}, 0) - 7, printed, source=DAVIES)


def test_davies_table_has_no_other_group() -> None:
    assert set(DAVIES_GROUPS) == set(GROUPS)


@pytest.mark.parametrize(
    ("groups", "carbons", "exact", "printed", "source"),
    [
        ({"-SO4Na": 1}, 12, "40.0", "40", f"sodium lauryl sulfate: {SPAN_80}"),
        ({"-COONa": 1}, 17, "18.025", "18", "sodium oleate, 18 from memory"),
        ({"-COOK": 1}, 17, "20.025", "20", "potassium oleate, 20 from memory"),
        ({"-OH, free": 1}, 16, "1.3", "1.3", "cetyl alcohol, 1.3 from memory"),
        ({"-COOH": 1}, 17, "1.025", "1", "oleic acid: www-dev.contentguild.co.uk HLB page"),
    ],
)
def test_davies_worked(
    groups: dict[str, int], carbons: int, exact: str, printed: str, source: str
) -> None:
    assert davies(groups, carbons) == Fraction(exact), DAVIES
    holds(
        davies(groups, carbons),
        printed,
        source=f"{DAVIES}; {source}",
        within=0.05,
        wide="the digits printed",
    )


def test_the_other_number_of_the_sulfate_group_misses_the_published_40() -> None:
    # en.wikipedia.org prints 38.6: sodium lauryl sulfate would be 39.9.
    holds(davies({}, 12) + Fraction("38.6"), "39.9", source=ENCYCLOPAEDIA)


@pytest.mark.parametrize(
    ("hlb", "use"),
    [
        ("2", "antifoam"),
        ("4.3", "water-in-oil emulsifier"),
        ("8", "wetting agent"),
        ("10.5", "oil-in-water emulsifier"),
        ("15", "detergent"),
        ("17", "solubiliser"),
    ],
)
def test_what_an_hlb_is_for(hlb: str, use: str) -> None:
    assert use in uses_of(Fraction(hlb)), ENCYCLOPAEDIA


@pytest.mark.parametrize(
    ("use", "low", "high"),
    [
        ("antifoam", "1", "3"), ("water-in-oil emulsifier", "3", "6"), ("wetting agent", "7", "9"),
        ("oil-in-water emulsifier", "8", "16"), ("detergent", "13", "16"),
        ("solubiliser", "16", "18"),
    ],
)  # fmt: skip
def test_where_the_ranges_of_use_end(use: str, low: str, high: str) -> None:
    for end, outwards in ((Fraction(low), -1), (Fraction(high), 1)):
        assert use in uses_of(end), ENCYCLOPAEDIA
        assert use not in uses_of(end + outwards * Fraction("0.1")), ENCYCLOPAEDIA


def test_a_span_holds_its_ends() -> None:
    assert Span(Fraction(8), Fraction(16)).holds(Fraction(16))
