"""The screens of a difference, as they stand on 80 columns, on 50 and in Markdown."""

from dataclasses import replace
from decimal import Decimal

from labbook.evidence.batches import batch_difference
from labbook.evidence.difference import difference
from labbook.model.batch import Batch, BatchLine, BatchStep, Done, Pin, Tools
from labbook.model.formula import Step, Target
from labbook.model.materials import Value
from labbook.model.quantities import parse_quantity as q
from labbook.model.sheets import Sheets
from labbook.show.differences import batch_difference_screen, difference_screen
from labbook.show.layout import Screen, clean
from labbook.show.markdown import difference_markdown, escaped
from tests.evidence.pairs import formula, read
from tests.evidence.test_batches import EQUIPMENT, LOTS, batch, compared, done

PLAIN, PAIRS = read()
SALT = replace(PLAIN.by_file["sodium-chloride"], molar_mass=Value(value=Decimal("58.44")))
SHEETS = Sheets({**PLAIN.by_file, "sodium-chloride": SALT})
HEAT = Step(id="s1", do="heat", set={"A": q("72 °C"), "B": q("72 °C")})
POUR = Step(id="s2", do="combine", add="B", into="A", rate="poured", for_=q("3 min"))
PH = Target(of="water phase", reading="pH", from_=Decimal("4.8"))
SECOND = formula(
    {
        "A": "sunflower-oil 19, polyglyceryl-3-diisostearate 3.60, tocopherol 0.40",
        "B": "water qs, glycerin 4, sodium-chloride 0.40",
        "C": "lavender-fragrance 0.50, panthenol 0.40",
    },
    [HEAT, POUR],
    [PH],
)
THIRD = formula(
    {
        "A": "sunflower-oil 19, polyglyceryl-3-diisostearate 4.50",
        "B": "water qs, glycerin 4, sodium-chloride 0.80",
        "C": "lavender-fragrance 0.50, panthenol 0.40, tocopherol 0.40",
    },
    [HEAT, replace(POUR, rate="slow", for_=q("5 min"))],
    [PH],
)
FOUND = difference(SECOND, THIRD, SHEETS, a_name="SBC@2", b_name="SBC@3")

# Phases 23.00 → 23.50, 76.10 → 75.20; 3.60 ÷ 76.10 and 4.50 ÷ 75.20 are 4.7 and 6.0 in 100;
# 0.40 ÷ 58.44 ÷ 76.10 and 0.80 ÷ 58.44 ÷ 75.20 are 90 and 182 mmol/kg: reckoned by hand.
WIDE = """\
SBC@2 → SBC@3                                          2026-01-22 → 2026-02-05

            ingredient                     phase       @2        @3     points
changed     polyglyceryl-3-diisostearate   A         3.60      4.50 %    +0.90
changed     sodium-chloride                B         0.40      0.80 %    +0.40
moved       tocopherol                     A → C     0.40      0.40 %     0
follows     water, q.s.                    B        71.70     70.40 %    -1.30
same        4 others

method      combine B into A: rate  poured → slow
                              for   3 min → 5 min
same        1 other step, 1 target

which makes                                            @2         @3
            phase A                                 23.00      23.50  %
            phase B, the water phase                76.10      75.20  %
            phase C                                  0.90       1.30  %
            emulsifier to 100 g water phase          4.7        6.0   g
            sodium-chloride in the water phase      90        182     mmol/kg

became      @2  9T failed between day 1 and day 7
            @3  C3 and R8 intact on day 28

then        labbook why 9t
"""


def test_two_versions_on_eighty_columns() -> None:
    shown = difference_screen(
        FOUND,
        Screen(),
        dates=("2026-01-22", "2026-02-05"),
        became=[("@2", "9T failed between day 1 and day 7"), ("@3", "C3 and R8 intact on day 28")],
        then=[("labbook why 9t", "")],
    )
    assert shown == WIDE


def test_two_versions_on_a_narrow_console_without_utf_8() -> None:
    shown = difference_screen(FOUND, Screen(50, ascii=True))
    assert shown.isascii()
    assert max(map(len, shown.splitlines())) <= 50
    assert shown.startswith("SBC@2 -> SBC@3\n\nchanged     polyglyceryl-3-diisostearate\n")
    assert "moved       tocopherol\n            phase A -> C\n" in shown


def test_nothing_differs() -> None:
    same = difference(SECOND, SECOND, SHEETS, a_name="SBC@2", b_name="SBC@2")
    assert difference_screen(same, Screen(), then=()) == (
        "SBC@2 → SBC@2\n\nsame        Nothing differs.\n"
    )
    assert "Nothing differs." in difference_markdown(same)


def test_both_explanations_are_given_where_it_cant_be_told() -> None:
    tie = next(p for p in PAIRS if p.name.startswith("water and oil share a ratio"))
    shown = difference_screen(
        difference(tie.a, tie.b, SHEETS, a_name="HC@1", b_name="HC@2"), Screen()
    )
    assert (
        "            It can't be told from the figures which of these was meant:\n"
        "either      sunflower-oil and beeswax chosen; water took up the rest\n"
        "or          beeswax chosen; sunflower-oil and water scaled by one ratio;\n"
        "            glycerin held\n"
    ) in shown


def test_every_pair_has_a_screen_within_its_width() -> None:
    for pair in PAIRS:
        found = difference(pair.a, pair.b, SHEETS, a_name="HC@1", b_name="HC@2")
        for width in (40, 59, 80, 120):
            lines = difference_screen(found, Screen(width)).splitlines()
            assert max(map(len, lines)) <= width, pair.name
        assert difference_markdown(found).startswith("## HC@1 → HC@2\n")


def test_markdown_has_tables_and_lists() -> None:
    text = difference_markdown(FOUND)
    assert "| moved | tocopherol | A → C | 0.40 | 0.40 | 0 |" in text
    assert "| follows | water, q.s. | B | 71.70 | 70.40 | -1.30 |" in text
    assert "- combine B into A: rate poured → slow; for 3 min → 5 min" in text


def test_words_of_a_clone_do_nothing_in_markdown_or_on_the_console() -> None:
    evil = "<script>x</script> [a](javascript:b) `c` | d\x1b[2J\u202e"
    shown = escaped(evil)
    assert "<" not in shown and "\x1b" not in shown and "\u202e" not in shown
    assert r"\[a\]" in shown and r"\|" in shown and r"\`c\`" in shown
    noted = replace(THIRD, title=evil)
    found = difference(SECOND, noted, SHEETS, a_name="SBC@2", b_name="SBC@3")
    sent = difference_screen(found, Screen()).replace("\n", "")
    assert clean(sent) == sent


BATCHES = """\
4M and 9T                                                           100 g each

4M          2026-01-09  SBC@1   intact on day 90

What differs                                     4M        9T
changed     polyglyceryl-3-diisostearate       4.50      3.60  %
changed     sodium-chloride                    0.80      0.40  %
changed     water phase when combined         71        58     °C
follows     water, q.s.                       70.60     71.90  %
same        1 amount, 2 pieces of equipment, 1 size
unknown     combine: speed: not written down for 9T; 4M 2

then        labbook why 4m 9t
"""


def test_two_batches() -> None:
    a = done(batch(), temperatures={"B": q("71 °C")}, speed="2")
    b = done(
        batch("SBC-260122-9T", l2="3.60", l3="71.90", l4="0.40"), temperatures={"B": q("58 °C")}
    )
    found = compared(a, b)
    shown = batch_difference_screen(
        found,
        Screen(),
        about=[("4M", "2026-01-09  SBC@1   intact on day 90")],
        sizes="100 g each",
    )
    assert shown == BATCHES


def test_batches_show_what_their_versions_planned_and_long_words_apart() -> None:
    line = BatchLine(id="l1", phase="A", ingredient="water", sheet="water", percent=Decimal(100))
    base = Batch(
        id="SBC-260101-S1", state="open", made=batch().made, size=q("10 g"), lines=(line,),
        formula=Pin(code="SBC", id="f-1", version=1, digest="d", blob="b"), tools=Tools(),
    )  # fmt: skip
    step = BatchStep(id="s2", plan=POUR, done=Done(rate="in a thin thread, counted to sixty"))
    other = replace(step, done=Done(rate="all at once"))
    found = batch_difference(
        replace(base, steps=(step,)), replace(base, id="SBC-260102-S2", steps=(other,)), FOUND,
        SHEETS, EQUIPMENT, LOTS,
    )  # fmt: skip
    shown = batch_difference_screen(found, Screen())
    assert "changed     combine: rate\n            S1: in a thin thread" in shown
    assert "planned     combine B into A: rate poured → slow; for 3 min → 5 min" in shown
