"""Beside the plan and after it: jars seen through, counts, readings; the installed command."""

import json
import re
import subprocess
from pathlib import Path

import pytest
from icalendar import Calendar

from tests.conftest import RunLabbook
from tests.e2e.terminal import at_terminal

WIDE = {"COLUMNS": "80"}


def at_day(root: Path, day: str) -> None:
    """Sets the sample's clock to another day."""
    head = root / "labbook.yaml"
    text = re.sub(r"today: [0-9-]+ ", f"today: {day} ", head.read_text(encoding="utf-8"))
    head.write_text(text, encoding="utf-8", newline="\n")


def file_of(root: Path, short: str, name: str) -> str:
    return next(root.glob(f"batches/2026/*-{short}/{name}.yaml")).read_text(encoding="utf-8")


# Seen through ------------------------------------------------------------------------------------


def test_a_failed_jar_stays_due_until_it_is_done(run_labbook: RunLabbook, sample: Path) -> None:
    failed = run_labbook("look", "7k.1", "3", "oil on top", cwd=sample, env=WIDE).out
    assert "It stays due until grade 4. Seen enough? labbook look 7k.1 --done\n" in failed
    at_day(sample, "2026-04-23")
    assert "  7K.1      room        day 14" in run_labbook("due", cwd=sample, env=WIDE).out
    assert "SBC@5  has failed" in run_labbook("due", cwd=sample, env=WIDE).out
    done = run_labbook("look", "7k.1", "--done", "-m", "it won't heal", cwd=sample, env=WIDE)
    assert (done.code, done.out.split()[:2]) == (0, ["7K.1", "done"])
    assert file_of(sample, "7K", "jars").splitlines()[-2:] == [
        "done:",
        '  - {id: "z1", jar: "1", time: "2026-04-23T12:00+00:00", why: "it won\'t heal"}',
    ]
    assert "7K.1" not in run_labbook("due", cwd=sample).out
    plan = run_labbook("stability", "plan", "7k", cwd=sample, env=WIDE).out
    assert "ended     day 14, day 28, day 60, day 90, day 180, day 365; the jar is done" in plan
    again = run_labbook("look", "7k.1", "--done", cwd=sample)
    assert (again.code, again.out) == (2, "") or "done already (z1)" in again.err
    assert run_labbook("check", cwd=sample).code == 0


def test_a_look_and_its_end_are_one_commit(run_labbook: RunLabbook, sample: Path) -> None:
    ran = run_labbook("look", "7k.1", "3", "oil on top", "--done", cwd=sample, env=WIDE)
    assert "oil on top, grade 3; done" in ran.out
    shown = subprocess.run(
        ["git", "show", "--name-only", "--format=%s", "HEAD"],
        cwd=sample, capture_output=True, encoding="utf-8", check=True,
    ).stdout.split("\n")  # fmt: skip
    assert shown[0] == "Look at 7K.1: oil on top, grade 3; done"
    assert [line.rsplit("/", 1)[-1] for line in shown[2:4]] == ["jars.yaml", "stability.yaml"]


@pytest.mark.parametrize("grade", ["4", "1"])
def test_a_broken_or_spoiled_jar_is_asked_for_no_more(
    run_labbook: RunLabbook, sample: Path, grade: str
) -> None:
    mode = {"4": "oil on top", "1": "mould"}[grade]
    out = run_labbook("look", "7k.1", grade, mode, cwd=sample, env=WIDE).out
    assert "It stays due" not in out
    assert "7K.1" not in run_labbook("due", "--days", "60", cwd=sample).out


def test_done_of_the_bulk_or_of_no_jar_is_refused(run_labbook: RunLabbook, sample: Path) -> None:
    ran = run_labbook("look", "7k.bulk", "--done", cwd=sample)
    assert ran.code != 0
    assert "The bulk is in no jar" in ran.err
    assert "Which jar?" in run_labbook("look", "--done", cwd=sample).err


def test_a_hand_that_takes_the_end_away_is_found(run_labbook: RunLabbook, sample: Path) -> None:
    path = next(sample.glob("batches/2026/*-9T/jars.yaml"))
    text = path.read_text(encoding="utf-8")
    path.write_text(text[: text.index("done:")], encoding="utf-8", newline="\n")
    found = run_labbook("check", cwd=sample, env=WIDE)
    assert "end of a jar's looks z1 of 9T" in " ".join(found.out.split())


# Beside the plan ---------------------------------------------------------------------------------


def test_a_jar_that_came_back_is_looked_at_off_the_plan(
    run_labbook: RunLabbook, sample: Path
) -> None:
    words = ("look", "4m.1", "3", "water beads", "--note", "came back from the market")
    out = run_labbook(*words, cwd=sample, env=WIDE).out
    assert "4M.1  room, off the plan: water beads, grade 3" in out
    assert "so far      failed between day 90 and day 97: water beads, grade 3" in out
    assert "planned" not in file_of(sample, "4M", "stability").splitlines()[-1]
    plan = run_labbook("stability", "plan", "4m", cwd=sample, env=WIDE).out
    assert "off plan  day 97 (2026-04-16; came back from the market)" in plan
    # The look of day 180 is still to come.
    assert "coming    day 180" in plan


def test_after_a_heat_wave_all_jars_of_the_room_are_listed(
    run_labbook: RunLabbook, sample: Path
) -> None:
    out = run_labbook("due", "--now", "Room", cwd=sample, env=WIDE).out
    assert out.count("off plan") == 12
    assert not {"9T.1", "D4.1"} & set(out.split())  # they are done
    data = json.loads(run_labbook("due", "--now", "room", "--json", cwd=sample).out)
    assert data["then"][0]["command"] == "labbook look --now room"
    said = run_labbook("due", "--now", "cellar", cwd=sample)
    assert said.code == 2
    assert "They stood in: room, fridge, 40 °C, freeze-thaw" in said.err


def test_and_walked_through(run_labbook: RunLabbook, sample: Path) -> None:
    answers = [("M8.1 ", "1"), (" " * 12 + "what, by number: ", "1"), ("G2.1 ", "end")]
    ran = at_terminal("look", "--now", "room", cwd=sample, answers=answers)
    assert ran.code == 0, ran.out
    assert "1 of 12 jars looked at, 11 left open" in ran.out


def test_the_calendar_holds_each_jar_with_its_command(
    run_labbook: RunLabbook, sample: Path
) -> None:
    """Read back with the icalendar library; RFC 5545, 3.8.4.7: the same look, the same UID."""

    def events() -> dict[str, tuple[str, str]]:
        assert run_labbook("due", "--ics", "due.ics", cwd=sample).code == 0
        read = Calendar.from_ical((sample / "due.ics").read_bytes())
        return {
            str(one["UID"]): (str(one["SUMMARY"]), str(one["DESCRIPTION"]))
            for one in read.walk("VEVENT")
        }

    first = events()
    assert len(first) == 16
    assert ("Look at 7K.1: day 7, room") in {title for title, _ in first.values()}
    assert all("\nlabbook look " in text for _, text in first.values())
    assert run_labbook("look", "7k.1", "0", cwd=sample).code == 0
    at_day(sample, "2026-04-17")
    later = events()
    gone = {first[uid][0] for uid in first.keys() - later.keys()}
    assert gone == {"Look at 7K.1: day 7, room"}
    assert all(later[uid][0] == first[uid][0] for uid in first.keys() & later.keys())


# Cycles ------------------------------------------------------------------------------------------


def test_freeze_and_thaw_goes_by_cycles_all_through(run_labbook: RunLabbook, sample: Path) -> None:
    """Moved to the freezer, looked at cycle by cycle, failed, counted and ended."""
    assert run_labbook("look", "n6.3", "--moved", "freeze-thaw", cwd=sample).code == 0
    at_day(sample, "2026-04-18")
    due = run_labbook("due", cwd=sample, env=WIDE).out
    assert "  N6.3      freeze-thaw  cycle 1" in due
    out = run_labbook("look", "n6.3", "0", cwd=sample, env=WIDE).out
    assert "N6.3  freeze-thaw, cycle 1: grade 0" in out
    at_day(sample, "2026-04-21")
    assert "cycle 2  since Mon 2026-04-20" in run_labbook("due", cwd=sample, env=WIDE).out
    out = run_labbook("look", "n6.3", "2", "oil beads", cwd=sample, env=WIDE).out
    assert "freeze-thaw failed by cycle 2: oil beads, grade 2" in out
    assert "Seen enough? labbook look n6.3 --done" in out
    at_day(sample, "2026-04-23")
    assert "  N6.3      freeze-thaw  cycle 3" in run_labbook("due", cwd=sample, env=WIDE).out
    plan = run_labbook("stability", "plan", "n6", cwd=sample, env=WIDE).out
    assert "  done      cycle 1, cycle 2\n  today     cycle 3" in plan
    table = run_labbook("outcomes", "SBC", "--condition", "freeze-thaw", cwd=sample, env=WIDE).out
    assert re.search(r"N6 +49 d +failed 1-2\n", table)
    assert "Counted in freeze-thaw, separation; bounds at 95 %:" in table
    assert "1 of 1 batch failed by cycle 2: the true share may be down to 5 %" in table
    # After the last cycle a look without its number stays at the last one, and counts.
    assert run_labbook("look", "n6.3", "3", "oil beads", cwd=sample).code == 0
    out = run_labbook("look", "n6.3", "3", "oil beads", cwd=sample, env=WIDE).out
    assert "freeze-thaw, cycle 3" in out
    assert "cycle 3" not in run_labbook("due", cwd=sample).out


# Counts ------------------------------------------------------------------------------------------

COUNTS = """\
asked for   room until day 90, separation at grade 1 at most
            40 °C until day 28, separation at grade 2 at most
            freeze-thaw for 3 cycles, separation at grade 1 at most

            Counted in the room, separation; bounds at 95 %:
@5          0 of 1 batch failed by day 14: the true share may be up to 95 %; not
            watched until then: 7K
@4          0 of 1 batch failed by day 28: the true share may be up to 95 %
@3          0 of 3 batches failed by day 28: the true share may be up to 63 %
@2          1 of 1 batch failed by day 7: the true share may be down to 5 %
@1          0 of 1 batch failed by day 90: the true share may be up to 95 %
"""


def test_outcomes_say_what_was_asked_for_and_how_much_they_say(
    run_labbook: RunLabbook, sample: Path
) -> None:
    out = run_labbook("outcomes", "SBC", cwd=sample, env=WIDE).out
    assert COUNTS in out
    said = " ".join(out.split())
    assert said.count("beside real time: no day there stands for a day in the room") == 1
    assert "corrected C3 1 time; outcomes use what was corrected" in said
    for word in ("safe", "stable", "pass"):
        assert word not in said.split()


def test_outcomes_by_something_else(run_labbook: RunLabbook, sample: Path) -> None:
    def told(*words: str) -> str:
        ran = run_labbook("outcomes", "SBC", *words, cwd=sample, env=WIDE)
        assert ran.code == 0, ran.err
        return ran.out

    percent = told("--by", "polyglyceryl-3-diisostearate")
    assert "4.50 %      0 of 6 batches failed by day 14" in percent
    assert "3.60 %      1 of 1 batch failed by day 7" in percent
    assert "7 and 1 batches carry no test" in " ".join(percent.split())
    lots = told("--by", "lot")
    assert "sunflower-oil: lot 12-441\n" in lots
    jars = told("--by", "container", "--condition", "40C")
    assert "1 of 7 jars failed by day 14: the true share may be 0 to 58 %" in jars
    assert "K2.4" not in jars
    assert "Stick blender" in told("--by", "device") or "blender" in told("--by", "device")
    wrong = run_labbook("outcomes", "SBC", "--by", "beeswaxx", cwd=sample)
    assert wrong.code == 2
    assert "By: version, lot, device, session, container, place" in " ".join(wrong.err.split())
    wrong = run_labbook("outcomes", "SBC", "--condition", "cellar", cwd=sample)
    assert "They were in: room, fridge, 40 °C, freeze-thaw" in " ".join(wrong.err.split())


def test_a_dropped_batch_is_out_of_the_count_and_named(
    run_labbook: RunLabbook, sample: Path
) -> None:
    assert run_labbook("batch", "drop", "c3", "-m", "lid left off", cwd=sample).code == 0
    out = run_labbook("outcomes", "SBC", cwd=sample, env=WIDE).out
    assert "left out    C3, dropped: lid left off\n" in out
    assert "@3          0 of 2 batches failed by day 28" in out
    data = json.loads(run_labbook("outcomes", "SBC", "--json", cwd=sample).out)
    assert data["left out"] == [["C3", "lid left off"]]
    (count,) = data["groups"][2]["counts"]
    assert (count["failed"], count["of"], count["until"], count["what"]) == (0, 2, 28, "batches")


# Readings ----------------------------------------------------------------------------------------


def test_a_trend_shows_values_ranges_and_why_there_is_no_line(
    run_labbook: RunLabbook, sample: Path
) -> None:
    out = run_labbook("stability", "trend", "SHL", cwd=sample, env=WIDE).out
    assert "day 28      5.12   5.16\n" in out
    assert "            D4.1   4      1-28   4.85   5.12   ▁▂▄▇\n" in out
    assert "No line: that takes 5 ages in 3 calibrated sessions." in " ".join(out.split())
    assert "of the water phase, not of the finished one: D4" in " ".join(out.split())
    bare = run_labbook("stability", "trend", "SBC", cwd=sample, env=WIDE).out
    assert "No jar of it has a reading yet." in bare
    plain = run_labbook(
        "stability", "trend", "SHL", cwd=sample, env=WIDE | {"PYTHONIOENCODING": "ascii"}
    ).out
    assert "1247" in plain
    assert plain.isascii()


def test_readings_of_a_home_bench_are_compared_with_like_ones(
    run_labbook: RunLabbook, sample: Path
) -> None:
    way = "under 200 g for 60 s at 20 C after 24 h"
    for jar, reading in (
        ("7k.1", f"spread 41 mm {way}"),
        ("h5.1", f"spread 43 mm {way}"),
        ("r8.1", "spread 52 mm under 200 g for 60 s at 27 C after 24 h"),
        ("c3.1", "spread 44 mm"),
    ):
        ran = run_labbook("look", jar, "0", "--reading", reading, cwd=sample, env=WIDE)
        assert ran.code == 0, ran.err
    assert "Under which weight, for how long?" in ran.out
    assert 'by: "200 g, 60 s"' in file_of(sample, "7K", "stability")
    out = run_labbook("stability", "trend", "SBC", "--reading", "spread", cwd=sample, env=WIDE).out
    said = " ".join(out.split())
    assert "not compared, how it was taken is not written down: C3.1 day 70: 44 mm" in said
    assert "at 27 °C, the others at 20 °C: R8.1 day 63: 52 mm" in said
    assert "7K.1 1 7 41 41" in said
    data = json.loads(
        run_labbook("stability", "trend", "SBC", "--by", "batch", "--json", cwd=sample).out
    )
    assert [one["name"] for one in data["series"]] == ["H5", "7K"]
    wrong = run_labbook("stability", "trend", "SBC", "--reading", "glow", cwd=sample)
    assert (wrong.code, "There is: spread" in wrong.err) == (2, True)


def test_a_note_keeps_how_a_reading_was_taken(run_labbook: RunLabbook, sample: Path) -> None:
    ran = run_labbook("note", "7f", "funnel 38 s for 50 ml at 20 C after 24 h", cwd=sample)
    assert ran.code == 0, ran.err
    text = file_of(sample, "7F", "batch")
    assert 'reading: "funnel", value: 38, unit: "s", by: "50 ml", at: 20 °C, rest: 24 h' in text
    assert run_labbook("note", "7f", "drop in water spreads", cwd=sample).code == 0
    assert 'seen: "oil-in-water", by: "a drop in water spreads"' in file_of(sample, "7F", "batch")


# Pictures ----------------------------------------------------------------------------------------


def test_pictures_at_the_terminal(run_labbook: RunLabbook, sample: Path) -> None:
    shown = run_labbook("outcomes", "SBC", "--timeline", cwd=sample).out
    assert re.search(r"^9T\.1 .*3┃ +SBC@2, failed 1-7$", shown, re.MULTILINE)
    curve = run_labbook("outcomes", "SBC", "--curve", cwd=sample).out
    told = " ".join(curve.split())
    assert "the true share then may be 12 to over 99 %, at 95 %" in told
    assert "nothing is known after day 90" in told
    few = run_labbook("outcomes", "KHB", "--curve", cwd=sample)
    assert few.code == 2
    assert "labbook outcomes KHB" in few.err


def test_how_warm_an_oven_was_by_its_log(run_labbook: RunLabbook, sample: Path) -> None:
    log = sample.parent / "oven.csv"
    rows = [f"{day:02d}.04.2026 {hour:02d}:00;40,5" for day in range(1, 16) for hour in range(24)]
    log.write_text("Zeit;C\n" + "\n".join(rows) + "\n", encoding="utf-8")
    out = run_labbook("stability", "temperature", log, "--jar", "h5.3", cwd=sample).out
    assert out.startswith("oven.csv, H5.3 in 40 °C")
    assert "above 30    359 hours of 359 hours\n" in out
    assert "kinetic     40.5 °C, the mean for chemical ageing" in out
    assert "30 days" not in out
