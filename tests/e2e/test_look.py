"""Looking, with the installed command in the sample notebook."""

import json
import os
import re
import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest
from PIL import Image

from tests.conftest import RunLabbook, command
from tests.e2e.terminal import END, at_terminal, pair

WIDE = {"COLUMNS": "80"}


def looks_of(root: Path, short: str) -> str:
    found = next(root.glob(f"batches/2026/*-{short}/stability.yaml"))
    return found.read_text(encoding="utf-8")


def last_look(root: Path, short: str) -> str:
    return looks_of(root, short).splitlines()[-1].strip()


def git(root: Path, *words: str) -> str:
    ran = subprocess.run(
        ["git", *words], cwd=root, capture_output=True, encoding="utf-8", check=True
    )
    return ran.stdout.strip()


# Screens -----------------------------------------------------------------------------------------

LOG = """\
SBC  Studio hand cream, water-in-oil                     5 versions, 8 batches

@5          2026-03-26  "less drag while it soaks in"
            isopropyl-myristate 6.0 % out, caprylic-capric-triglyceride 6.0 % in
  7K        intact on day 1; day 7 is due today
  H5        intact on day 14

@4          2026-03-05  "firmer in the jar"
            beeswax 1.0 → 1.5 %, water takes it up
  N6        intact on day 28

@3          2026-02-05  "back up with the emulsifier"
"""
TAIL = """\
  K2        intact on day 28; freeze-thaw failed by cycle 2: oil beads, grade 3
  R8        intact on day 28; day 60 overdue; water phase was at 58 °C
  C3        intact on day 60

@2          2026-01-22  "lighter, and cheaper"
            polyglyceryl-3-diisostearate 4.50 → 3.60 %
            sodium-chloride 0.80 → 0.40 %, water takes both up
  9T        FAILED between day 1 and day 7: water below, grade 3; water phase
            was at 58 °C

@1          2026-01-09  first version
  4M        intact on day 90

            Batches by their room jar; other conditions where they failed.
"""


def test_the_log_tells_what_became_of_each_batch(run_labbook: RunLabbook, sample: Path) -> None:
    out = run_labbook("log", "SBC", cwd=sample, env=WIDE).out
    assert out.startswith(LOG)
    assert out.endswith(TAIL)


def test_the_first_screen_counts_the_jars(run_labbook: RunLabbook, sample: Path) -> None:
    out = run_labbook(cwd=sample, env=WIDE).out
    assert "look        7 jars today, 3 of them overdue\n" in out


OUTCOMES = """\
            batch    age   room         fridge      40 °C        freeze-thaw
@5          7K       7 d   intact 1     intact 1    intact 1
            H5      21 d   intact 14    intact 14   intact 14
@4          N6      42 d   intact 28    intact 28   intact 28
@3          K2      56 d   intact 28    intact 28   intact 28    failed 1-2
            R8      63 d   intact 28    intact 28   intact 28
            C3      70 d   intact 60    intact 60   intact 28
@2          9T      84 d   failed 1-7   intact 60   failed 1-7
@1          4M      97 d   intact 90    intact 90   intact 28
"""


def test_outcomes_stand_by_version_batch_and_condition(
    run_labbook: RunLabbook, sample: Path
) -> None:
    out = run_labbook("outcomes", "sbc", cwd=sample, env=WIDE).out
    assert OUTCOMES in out
    assert "too young   7K was not watched as long as it took another one to fail" in out
    by_jar = run_labbook("stability", "outcomes", "SBC", "--jars", cwd=sample, env=WIDE).out
    assert "            K2.4   56 d" in by_jar
    data = json.loads(run_labbook("outcomes", "SBC", "--json", cwd=sample).out)
    outcome = data["groups"][3]["rows"][0]["outcomes"][0]
    assert (outcome["state"], outcome["last intact"], outcome["first failed"]) == ("failed", 1, 7)
    assert outcome["modes"] == ["water below"]


# Short forms -------------------------------------------------------------------------------------


def test_a_look_in_one_line_is_one_entry_and_one_commit(
    run_labbook: RunLabbook, sample: Path
) -> None:
    before = git(sample, "rev-list", "--count", "HEAD")
    ran = run_labbook("look", "7k.1", "3", "Oil-on-top", "3/41", cwd=sample, env=WIDE)
    assert ran.code == 0, ran.err
    assert "7K.1  room, day 7: oil on top, grade 3, 3/41" in ran.out
    assert "failed between day 1 and day 7: oil on top, grade 3" in ran.out
    assert last_look(sample, "7K") == (
        '- {id: "o4", jar: "1", time: "2026-04-16T12:00+00:00", planned: 7 d, condition: "room", '
        'grade: 3, modes: [oil on top], extent: "3/41"}'
    )
    assert git(sample, "rev-list", "--count", "HEAD") == str(int(before) + 1)
    assert git(sample, "show", "--name-only", "--format=", "HEAD").endswith("7K/stability.yaml")


def test_what_goes_with_a_look_is_kept(
    run_labbook: RunLabbook, sample: Path, tmp_path: Path
) -> None:
    Image.new("RGB", (90, 60), "beige").save(tmp_path / "w3.png")
    ran = run_labbook(
        "look", "w3.1", "1", "cream layer", "pH 4,9", "--at", "20 C", "--rest", "24 h",
        "--photo", tmp_path / "w3.png", "--note", "paler edge", cwd=sample,
    )  # fmt: skip
    assert ran.code == 0, ran.err
    tail = 'rest: 24 h, at: 20 °C, reading: "pH", value: 4.9, note: "paler edge"}'
    assert last_look(sample, "W3").endswith(tail)
    (file,) = sample.glob("batches/*/*-W3/*.jpg")
    entry = re.search(r"^  - (.*)$", (file.parent / "photos.yaml").read_text(), re.MULTILINE)
    assert entry
    assert f'id: "p1", file: "{file.name}"' in entry[1]
    assert 'caption: "paler edge", jar: "1", look: "o' in entry[1]
    assert f"photo p1: {file.name}" in ran.out
    changed = git(sample, "show", "--name-only", "--format=", "HEAD").split()
    assert sorted(path.rsplit("/", 1)[-1] for path in changed) == sorted(
        [file.name, "photos.yaml", "stability.yaml"]
    )


def test_a_late_entry_says_how_it_is_known(run_labbook: RunLabbook, sample: Path) -> None:
    late = ("look", "7k.1", "0", "--from", "paper")
    assert "of which day" in run_labbook(*late, cwd=sample).err
    assert run_labbook(*late, "--made", "2026-04-12", cwd=sample).code == 0
    assert "time: 2026-04-12, " in last_look(sample, "7K")
    assert "known from: paper" in last_look(sample, "7K")
    for day in ("2026-04-01", "2026-05-01", "12.4."):
        ran = run_labbook("look", "7k.1", "0", "--made", day, cwd=sample)
        assert (ran.code, ran.out) == (2, "")


def test_never_formed_is_seen_on_the_bulk(run_labbook: RunLabbook, sample: Path) -> None:
    ran = run_labbook("look", "7f.bulk", "4", "never formed", cwd=sample, env=WIDE)
    assert ran.code == 0, ran.err
    assert "so far      failed while making: never formed, grade 4" in ran.out
    assert "FAILED while making" in run_labbook("show", "7f", cwd=sample).out


def test_mould_calls_for_caution(run_labbook: RunLabbook, sample: Path) -> None:
    out = " ".join(run_labbook("look", "7k.2", "1", "mould", cwd=sample, env=WIDE).out.split())
    for words in (
        "Don't open it and don't smell it.",
        "through the jar, then discard it: labbook look 7k.2 --moved discarded",
        "all jars of that bulk",
        "not a microbiological test",
    ):
        assert words in out
    assert "caution" not in run_labbook("look", "7k.3", "1", "oil beads", cwd=sample).out


def test_a_moved_jar_is_asked_for_no_more(run_labbook: RunLabbook, sample: Path) -> None:
    ran = run_labbook("look", "7k.2", "--moved", "discarded", cwd=sample)
    assert ran.code == 0, ran.err
    assert "none will fall due" in ran.out
    jars = next(sample.glob("batches/2026/*-7K/jars.yaml")).read_text(encoding="utf-8")
    assert jars.splitlines()[-1].strip() == (
        '- {id: "y4", jar: "2", condition: "discarded", since: "2026-04-16T12:00+00:00"}'
    )
    assert "7K.2" not in run_labbook("due", cwd=sample).out


def test_a_correction_stands_beside_the_look(run_labbook: RunLabbook, sample: Path) -> None:
    wrong = ("look", "9t.1", "--correct", "o4", "grade=1")
    assert "needs its reason" in run_labbook(*wrong, cwd=sample).err
    ran = run_labbook(*wrong, "-m", "poor light", cwd=sample, env=WIDE)
    assert ran.code == 0, ran.err
    assert "so far      intact on day 7" in ran.out
    text = looks_of(sample, "9T")
    assert "grade: 3, modes: [water below], layer: 4 mm" in text
    assert '{id: "c1", of: "o4", key: "grade", was: "3", now: "1", why: "poor light"' in text
    assert "no look o5" in run_labbook(*wrong[:3], "o5", "grade=1", "-m", "x", cwd=sample).err
    assert run_labbook("check", cwd=sample).code == 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("7k", "0"), "One of: 7K.1, 7K.2, 7K.3, 7K.bulk"),
        (("7k.9", "0"), "7K has no jar 9."),
        (("zz.1", "0"), "no batch zz"),
        (("7k.1", "5"), "Grade 5?"),
        (("7k.1", "3", "oil at top"), "Near it: oil on top"),
        (("7k.1", "0", "mould"), "A trace is grade 1."),
        (("7k.1", "2", "oil on top", "41/3"), "First the layer"),
        (("7k.1",), "What was seen?"),
    ],
)
def test_a_slip_is_refused_with_the_way_on(
    run_labbook: RunLabbook, sample: Path, words: tuple[str, ...], told: str
) -> None:
    head = git(sample, "rev-parse", "HEAD")
    ran = run_labbook("look", *words, cwd=sample, env=WIDE)
    assert ran.code == 2
    assert told in ran.err
    assert git(sample, "rev-parse", "HEAD") == head


# The walk ----------------------------------------------------------------------------------------


def at_ten_jars(root: Path) -> None:
    """Sets the sample's clock on, to a day on which ten jars wait."""
    head = root / "labbook.yaml"
    text = head.read_text(encoding="utf-8").replace("today: 2026-04-16 ", "today: 2026-04-22 ")
    head.write_text(text, encoding="utf-8", newline="\n")


MARGIN = " " * 12
WHAT = f"{MARGIN}what, by number: "
TEN = [
    *(("R8.1 ", "0"), ("R8.2 ", "0"), ("B6.1 ", "1"), (WHAT, "8")),
    *(("7K.1 ", "0"), ("7K.2 ", "0"), ("7K.3 ", "0"), ("W3.1 ", "0"), (f"{MARGIN}pH: ", "4.93")),
    *(("K2.1 ", "0"), ("K2.2 ", "0"), ("9T.2 ", "2"), (WHAT, "3")),
]
"""What is asked and what is typed: grains in B6.1, the pH of W3.1, water beads in 9T.2."""


def keystrokes(answers: Sequence[tuple[str, str]]) -> int:
    """Keys pressed, Enter of each line too."""
    return sum(len(line) + 1 for _, line in answers)


def test_ten_jars_take_29_keystrokes(run_labbook: RunLabbook, sample: Path) -> None:
    """With the number pad; at four seconds a key, looking included, under two minutes."""
    at_ten_jars(sample)
    due = json.loads(run_labbook("due", "--json", cwd=sample).out)
    assert len(due["overdue"] + due["today"]) == 10
    assert keystrokes(TEN) == 29
    ran = at_terminal("look", cwd=sample, answers=TEN)
    assert ran.code == 0, ran.out
    assert "10 of 10 jars looked at\n" in ran.out
    message = git(sample, "log", "-1", "--format=%B")
    assert message.startswith("Look at 10 jars\n")
    assert "B6.1  room, day 28: grains, grade 1\n" in message
    assert "9T.2  fridge, day 90: water beads, grade 2\n" in message
    assert 'grade: 0, reading: "pH", value: 4.93}' in last_look(sample, "W3")
    assert "\ntoday\n" not in run_labbook("due", cwd=sample).out
    assert "overdue" not in run_labbook("due", cwd=sample).out


def test_enter_leaves_a_jar_open_and_minus_goes_back(run_labbook: RunLabbook, sample: Path) -> None:
    """R8.1 stays open; B6.1 gets 0 first, then grade 3, grains."""
    answers = [("R8.1 ", ""), ("R8.2 ", "0"), ("B6.1 ", "0"), ("7K.1 ", "-"), ("B6.1 ", "3")]
    answers += [(WHAT, "8"), ("7K.1 ", "end")]
    ran = at_terminal("look", cwd=sample, answers=answers)
    assert "2 of 7 jars looked at, 5 left open" in ran.out
    assert 'jar: "1"' not in looks_of(sample, "R8").splitlines()[-1]
    first, second = looks_of(sample, "B6").splitlines()[-2:]
    assert 'grade: 0, struck: "typed again"}' in first
    assert "grade: 3, modes: [grains]}" in second
    out = run_labbook("outcomes", "KHB", cwd=sample, env=WIDE).out
    assert "failed between day 14 and day 29: grains, grade 3" in out


def test_each_answer_is_on_the_disk_before_the_next_jar_is_asked_for(sample: Path) -> None:
    keys, theirs = pair(80)
    with subprocess.Popen(
        [*command("script"), "look"],
        cwd=sample, stdin=theirs, stdout=subprocess.PIPE, encoding="utf-8",
    ) as walk:  # fmt: skip
        os.close(theirs)
        read_until(walk, "R8.1        room, day 60, due 2026-04-13: ")
        before = looks_of(sample, "R8")
        os.write(keys, b"0\n")
        read_until(walk, "R8.2        fridge, day 60, due 2026-04-13: ")
        assert len(looks_of(sample, "R8").splitlines()) == len(before.splitlines()) + 1
        walk.kill()
    os.close(keys)
    assert "grade: 0}" in last_look(sample, "R8")


def read_until(walk: subprocess.Popen[str], wanted: str) -> None:
    assert walk.stdout is not None
    text = ""
    while not text.endswith(wanted):
        char = walk.stdout.read(1)
        assert char, text
        text += char


def test_a_walk_cut_off_at_once_writes_nothing(sample: Path) -> None:
    head = git(sample, "rev-parse", "HEAD")
    ran = at_terminal("look", cwd=sample, answers=[("R8.1 ", END)])
    assert ran.code == 0
    assert "stopped; what was typed is kept" in ran.out
    assert git(sample, "rev-parse", "HEAD") == head


def test_without_a_terminal_nobody_is_asked(run_labbook: RunLabbook, sample: Path) -> None:
    """Keys in a pipe are nobody's answers: the list of what is due, and how a look is typed."""
    head = git(sample, "rev-parse", "HEAD")
    ran = run_labbook("look", cwd=sample, stdin="0\n0\n0\n", env=WIDE)
    assert ran.code == 2
    assert ran.out == run_labbook("due", cwd=sample, env=WIDE).out
    assert "Say it: labbook look r8.1 0" in ran.err
    assert git(sample, "rev-parse", "HEAD") == head
    assert run_labbook("look", "r8.1", "0", cwd=sample).code == 0


def test_with_nothing_due_no_terminal_is_needed(run_labbook: RunLabbook, sample: Path) -> None:
    for jar in ("r8.1", "r8.2", "b6.1", "7k.1", "7k.2", "7k.3", "w3.1"):
        assert run_labbook("look", jar, "0", cwd=sample).code == 0
    ran = run_labbook("look", cwd=sample)
    assert (ran.code, ran.err) == (0, "")
    assert "coming" in ran.out


# As JSON -----------------------------------------------------------------------------------------


def test_a_look_as_json_says_what_was_written(run_labbook: RunLabbook, sample: Path) -> None:
    ran = run_labbook("look", "7k.1", "3", "oil-on-top", "3/41", "--json", cwd=sample)
    assert ran.code == 0, ran.err
    found = json.loads(ran.out)
    assert (found["jar"], found["entry"]) == ("7K.1", "o4")
    assert found["said"] == "room, day 7: oil on top, grade 3, 3/41"
    assert found["state"].startswith("failed between day 1 and day 7")
    assert 'id: "o4"' in last_look(sample, "7K")


def test_corrections_and_moves_as_json(run_labbook: RunLabbook, sample: Path) -> None:
    wrong = ("look", "9t.1", "--correct", "o4", "grade=1", "-m", "poor light", "--json")
    assert json.loads(run_labbook(*wrong, cwd=sample).out)["said"] == "corrected: grade 3 → 1"
    moved = run_labbook("look", "7k.2", "--moved", "discarded", "--json", cwd=sample)
    assert json.loads(moved.out)["said"] == "now stands in: discarded"


def test_look_alone_as_json_is_what_is_due(run_labbook: RunLabbook, sample: Path) -> None:
    ran = run_labbook("look", "--json", cwd=sample, stdin="0\n0\n")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out == run_labbook("due", "--json", cwd=sample).out
    assert at_terminal("look", "--json", cwd=sample).code == 0  # asks nothing there either


def test_what_goes_with_a_look_needs_its_jar(run_labbook: RunLabbook, sample: Path) -> None:
    ran = run_labbook("look", "--moved", "fridge", cwd=sample)
    assert ran.code == 2
    assert "Which jar?" in ran.err


def test_the_calendar_file_is_written(run_labbook: RunLabbook, sample: Path) -> None:
    ran = run_labbook("due", "--ics", "due.ics", cwd=sample)
    assert ran.out == "due.ics: 16 looks, for a calendar to take in\n"
    assert (sample / "due.ics").read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")


# A centrifuge ------------------------------------------------------------------------------------


def test_a_spun_sample_is_a_test_of_its_own(run_labbook: RunLabbook, sample: Path) -> None:
    spun = ("--spin", "3000 rpm, 10 cm, 30 min, 25 C")
    out = run_labbook("look", "h5.1", "2", "oil-on-top", "3/41", *spun, cwd=sample, env=WIDE).out
    assert out.startswith("H5.1  centrifuge, 1006 g for 30 min at 25 °C: oil on top, grade 2, 3/41")
    assert "no minutes of it stand for days on a" in out
    assert "speed: 3000 rpm, radius: 10 cm, spun: 30 min" in last_look(sample, "H5")
    told = run_labbook("outcomes", "SBC", cwd=sample, env=WIDE).out
    assert "            H5      21 d   intact 14    intact 14   intact 14\n" in told
    assert "H5          spun at 1006 g for 30 min at 25 °C: failed, oil on top" in told
    alone = run_labbook("outcomes", "SBC", "--condition", "centrifuge", cwd=sample, env=WIDE).out
    assert "            H5      21 d   failed\n" in alone
    assert "1 of 1 batch failed in the run: the true share may be down to 5 %" in alone


def test_no_radius_no_g(run_labbook: RunLabbook, sample: Path) -> None:
    ran = run_labbook("look", "h5.1", "0", "--spin", "3000 rpm, 30 min", cwd=sample)
    assert ran.code == 2
    assert "in another centrifuge that is another g" in ran.err
    assert "centrifuge" not in looks_of(sample, "H5")
    add = ("equipment", "add", "spinner", "--kind", "centrifuge", "--radius")
    assert "radius: 10 g is no length." in run_labbook(*add, "10g", cwd=sample).err
    assert run_labbook(*add, "10cm", cwd=sample).code == 0
    out = run_labbook("look", "h5.1", "0", "--spin", "3000 rpm, 30 min", cwd=sample).out
    assert "centrifuge, 1006 g for 30 min" in out
