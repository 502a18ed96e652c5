"""A followed reading as a picture: limits named once, and the reason where there is no line."""

from datetime import date
from decimal import Decimal

from labbook.evidence.trend_picture import trend_picture
from labbook.model.results.trends import ReadingPoint, ReadingTrend, Series
from labbook.show.plots.trend import trend_svg
from labbook.show.plots.words import trend_words


def _followed(*said: str) -> ReadingTrend:
    points = tuple(
        ReadingPoint(
            batch="HC-260122-9T", short="9T", jar="1", condition="room", age=age,
            day=date(2026, 2, 1), value=Decimal(value), unit="",
        )
        for age, value in ((1.0, "4.90"), (7.0, "4.95"))
    )  # fmt: skip
    series = Series(name="9T.1", batch="HC-260122-9T", condition="room", points=points)
    return ReadingTrend(
        code="HC", title="Hand cream", day=date(2026, 3, 1), reading="pH", unit="",
        condition="room", series=(series,), limits=(Decimal("4.80"), None), said=said,
    )  # fmt: skip


def test_a_limit_is_named_once() -> None:
    svg = trend_svg(trend_picture(_followed()))
    assert svg.count(">at least 4.8<") == 1


def test_the_reason_reads_as_a_sentence() -> None:
    told = trend_words(
        trend_picture(
            _followed("No line: that takes 5 ages in 3 calibrated sessions. So far none.")
        )
    )
    assert told.endswith(
        "No line is drawn: that takes 5 ages in 3 calibrated sessions. So far none."
    )
