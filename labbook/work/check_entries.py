"""Jars, stays, looks and photos against history: their lists only grow.

What was recorded once stays as it was: a look is struck or gets a correction beside it, a jar is
moved by a further stay. Notes, and who has a jar, are the maker's own words and may change.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from labbook.model.codec import to_json
from labbook.model.problems import Place, Problem, Severity
from labbook.work.bench import Bench
from labbook.work.stories import Stage, flat, stages_of

if TYPE_CHECKING:
    from labbook.notebook.git import Commit

LISTS = {"jars.yaml": ("jars", "stays", "done"), "stability.yaml": ("looks", "corrections"),
         "photos.yaml": ("photos",),
         "reactions.yaml": ("reactions",)}  # fmt: skip
WORDS = {
    "jars": "jar entry", "stays": "stay", "done": "end of a jar's looks", "looks": "look",
    "corrections": "correction", "photos": "photo",
    "reactions": "reaction",
}  # fmt: skip
FREE = frozenset({"note", "given_to", "caption", "private"})
"""Keys whose value may change."""

LATER = frozenset({"struck", "photo", "container", "mass", "fill_level", "place"})
"""Keys that an entry may gain later, beside the free ones."""

WHEN_AND_WHAT = (("time",), ("since",), ("jar",), ("of",), ("key",))
"""What two entries called the same on two machines are told apart by."""


@dataclass(frozen=True)
class _Entry:
    """An entry as it was first recorded, and which stage brought it."""

    list: str
    id: str
    index: int
    values: dict[tuple[str, ...], str]


def entry_problems(bench: Bench, commits: Sequence[Commit]) -> Iterator[Problem]:
    """Entries of jars and looks that were changed or taken out, and files that are gone."""
    for file in LISTS:
        for batch_id, story in sorted(stages_of(bench, file, commits).items()):
            if bench.snapshot.of_batch(batch_id) is None:
                continue  # the whole batch is gone, which is said elsewhere
            held = bench.snapshot.of_batch(batch_id, file)
            if held is None:
                yield from _file_gone(batch_id, story)
            elif held.record is not None:
                for entry in _first(story, file):
                    yield from _entry(batch_id, story, entry, held)


def _file_gone(batch_id: str, story: list[Stage]) -> Iterator[Problem]:
    if not story:
        return
    last = story[-1]
    committed = not last.blob
    when = f"in commit {last.named}" if committed else "uncommitted"
    before = f"{last.commit[:7]}^" if committed else last.commit[:7]
    yield Problem(
        Severity.ERROR,
        "entries-taken-away",
        Place(last.path),
        f"{last.path.rsplit('/', 1)[-1]} of {batch_id} was in the notebook and is gone, {when}.",
        f"Put it back: git restore -s {before} -- {last.path}",
        about=batch_id,
        commit=last.commit if committed else "",
    )


def _data(record: Any, name: str) -> dict[str, dict[tuple[str, ...], str]]:
    """The entries of a list by id, as paths and texts."""
    entries = to_json(getattr(record, name))
    return {entry["id"]: dict(flat(entry)) for entry in entries}


def _first(story: list[Stage], file: str) -> list[_Entry]:
    found: dict[tuple[str, str], _Entry] = {}
    for index, stage in enumerate(story):
        if stage.record is None:
            continue
        for name in LISTS[file]:
            for id_, values in _data(stage.record, name).items():
                found.setdefault((name, id_), _Entry(name, id_, index, values))
    return list(found.values())


def _under_another_id(
    entry: _Entry, today: dict[str, dict[tuple[str, ...], str]]
) -> dict[tuple[str, ...], str] | None:
    """The entry of the same moment and jar, where a merge had to give one of two another id."""
    wanted = [entry.values.get(key) for key in WHEN_AND_WHAT]
    if not any(wanted[:2]) or (now := today.get(entry.id)) is None:
        return None
    if [now.get(key) for key in WHEN_AND_WHAT] == wanted:
        return None
    return next(
        (v for v in today.values() if [v.get(key) for key in WHEN_AND_WHAT] == wanted), None
    )


def _entry(batch_id: str, story: list[Stage], entry: _Entry, held: Any) -> Iterator[Problem]:
    today = _data(held.record, entry.list)
    if (moved := _under_another_id(entry, today)) is not None:
        own = dict(entry.values) | {("id",): moved["id",]}
        entry = _Entry(entry.list, moved["id",], entry.index, own)
    now = today.get(entry.id)
    if now is None:
        stage = _who(story, entry, None, now)
        yield _told(batch_id, entry, held.place(entry.list), stage, _words(entry), "it is gone")
        return
    position = list(today).index(entry.id)
    for path in sorted(entry.values.keys() | now.keys()):
        was, is_ = entry.values.get(path), now.get(path)
        gained = was is None and (path[0] in LATER or entry.list in ("jars", "stays"))
        if was == is_ or path[0] in FREE or gained:
            continue
        stage = _who(story, entry, path, now)
        key = path[0].replace("_", " ")
        place = held.place(entry.list, position, *path)
        first = f"{key} {was}" if was is not None else f"no {key}"
        yield _told(batch_id, entry, place, stage, first, f"now it says {is_ or 'nothing'}")


def _words(entry: _Entry) -> str:
    return ", ".join(t for key, t in entry.values.items() if key not in (("id",), ("time",)))


def _who(
    story: list[Stage],
    entry: _Entry,
    path: tuple[str, ...] | None,
    now: dict[tuple[str, ...], str] | None,
) -> Stage | None:
    """The stage that made an entry, or one value of it, what it is today; None: uncommitted."""
    wanted = now if now is None or path is None else now.get(path)
    found = None
    for stage in reversed(story[entry.index + 1 :]):
        if stage.record is None:
            continue
        data = _data(stage.record, entry.list).get(entry.id)
        value = data if data is None or path is None else data.get(path)
        if value != wanted or (data is None) != (now is None):
            break
        found = stage
    return found


def _told(
    batch_id: str, entry: _Entry, place: Place, stage: Stage | None, first: str, then: str
) -> Problem:
    by = f"in commit {stage.named}" if stage else "uncommitted"
    short = batch_id.rsplit("-", 1)[-1]
    if entry.list == "looks":
        beside = (
            "Were the first words wrong, a correction stands beside: labbook look JAR --correct"
        )
        mend = f'Put it back. {beside} {entry.id} KEY=VALUE -m "..."'
    else:
        mend = (
            f"Put it back; what changed since is a further entry. See: git log -p -- {place.path}"
        )
    return Problem(
        Severity.ERROR,
        "entry-changed",
        place,
        f"{WORDS[entry.list]} {entry.id} of {short} was first recorded with {first}; {then},"
        f" by hand, {by}. These lists only grow.",
        mend,
        about=batch_id,
        commit=stage.commit if stage else "",
    )
