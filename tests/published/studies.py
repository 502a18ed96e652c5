"""Printed data that several published checks share; each with its source."""

from __future__ import annotations

from labbook.evidence.statistics.intervals import Interval
from labbook.evidence.statistics.lines import Point

# Weeks in remission of 21 patients each; + is still in remission. Freireich et al., Blood 21:699
# (1963), as given by Gehan, Biometrika 52:203 (1965).
REMISSION_6MP = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
REMISSION_PLACEBO = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23"

# Months until breast retraction, (last seen without, first seen with]. Finkelstein and Wolfe,
# Biometrics 41:933 (1985): radiotherapy alone, and with chemotherapy.
COSMESIS_RADIOTHERAPY = (
    "(45,inf] (6,10] (0,7] (46,inf] (46,inf] (7,16] (17,inf] (7,14] (37,44] (0,8] (4,11] "
    "(15,inf] (11,15] (22,inf] (46,inf] (46,inf] (25,37] (46,inf] (26,40] (46,inf] (27,34] "
    "(36,44] (46,inf] (36,48] (37,inf] (40,inf] (17,25] (46,inf] (11,18] (38,inf] (5,12] "
    "(37,inf] (0,5] (18,inf] (24,inf] (36,inf] (5,11] (19,35] (17,25] (24,inf] (32,inf] "
    "(33,inf] (19,26] (37,inf] (34,inf] (36,inf]"
)
COSMESIS_BOTH = (
    "(8,12] (0,22] (24,31] (17,27] (17,23] (24,30] (16,24] (13,inf] (11,13] (16,20] (18,25] "
    "(17,26] (32,inf] (23,inf] (44,48] (14,17] (0,5] (5,8] (12,20] (11,inf] (33,40] (31,inf] "
    "(13,39] (19,32] (34,inf] (13,inf] (16,24] (35,inf] (15,22] (11,17] (22,32] (10,35] "
    "(30,34] (13,inf] (10,17] (8,21] (4,9] (11,inf] (14,19] (4,8] (34,inf] (30,36] (18,24] "
    "(16,60] (35,39] (21,inf] (11,20] (48,inf]"
)

# Months and readings of stability batches. LeBlond, Griffith and Aubuchon, J Valid Technol 17(3):47
# (2011), as carried in the public repository piusdahinden/expirest,
# tests/testthat/test-expirest_osle.R (commit 6058c617).
STABILITY = {
    "potency b2": (
        "0: 101, 1: 101.3, 3: 99.8, 3: 99.2, 6: 99.5, 6: 97.8, 12: 97.4, 12: 97.2, 24: 96.9, 24: 96"
    ),
    "potency b3": (
        "0: 104.8, 3: 103, 3: 101.2, 6: 100.8, 6: 99.2, 12: 98.6, 12: 97.2, 24: 97.6, 24: 98"
    ),
    "potency b4": (
        "0: 104, 3: 103.2, 6: 102.8, 6: 103.3, 12: 102.4, 12: 101.2, 24: 99.1, 24: 99.5"
    ),
    "potency b5": (
        "0: 102, 1: 101.4, 2: 100.8, 3: 100.2, 3: 99.7, 6: 98.8, 6: 98.5, 12: 98, 12: "
        "97.1, 24: 96.6, 24: 96.1"
    ),
    "potency b7": (
        "0: 101.3, 1: 101.5, 3: 100.2, 3: 99.8, 6: 99, 6: 98.5, 12: 98.5, 12: 97.4, 24: "
        "96.6, 24: 96.4"
    ),
    "potency b8": ("0: 101.6, 3: 100, 6: 99, 12: 97.8, 12: 97"),
    "moisture b1": (
        "0: 2.20059, 1: 1.70372, 2: 3.32395, 3: 2.75907, 3: 2.43192, 6: 1.76331, 6: "
        "1.56801, 12: 2.19423, 12: 3.22311, 24: 3.16325, 24: 1.54837"
    ),
    "moisture b2": (
        "0: 2.81078, 1: 1.94915, 2: 2.49058, 3: 2.00485, 3: 3.307, 6: 2.99309, 6: "
        "3.30159, 12: 2.72512, 12: 1.88341, 24: 2.77215, 24: 1.69048"
    ),
    "moisture b3": (
        "0: 2.45301, 1: 2.16138, 2: 2.26631, 3: 2.12853, 3: 2.51775, 6: 2.31034, 6: "
        "3.36915, 12: 2.3207, 12: 2.72001, 24: 2.19393, 24: 3.45895"
    ),
}


def weeks(printed: str) -> list[tuple[int, bool]]:
    """Weeks, and whether the remission ended then."""
    return [(int(one.rstrip("+")), not one.endswith("+")) for one in printed.split()]


def weekly(printed: str) -> list[Interval]:
    """The same, seen as weekly looks: what ended in week 6 was intact at 5, failed at 6."""
    return [
        Interval(float(week - 1), float(week)) if ended else Interval(float(week), None)
        for week, ended in weeks(printed)
    ]


def months(printed: str) -> list[Interval]:
    """Half-open intervals from `(6,10] (45,inf]`."""
    found = []
    for one in printed.split():
        low, high = one.strip("(]").split(",")
        found.append(Interval(float(low), None if high == "inf" else float(high)))
    return found


def stability(kind: str, *batches: str) -> list[Point]:
    """The readings of so many batches."""
    points = []
    for batch in batches:
        for one in STABILITY[f"{kind} {batch}"].split(","):
            age, value = one.split(":")
            points.append(Point(batch, float(age), float(value)))
    return points
