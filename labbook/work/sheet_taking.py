"""One bench sheet on its way into one batch file, entry by entry, inside a plan.

Nothing that stands is written over: an entry that is known stays, and a value in a place gives way
only to what the page itself had put there.
"""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

from labbook.model.batch import Batch, Deviation, Done, Reading, Remark, Weighing
from labbook.model.errors import NotAllowed, UnknownName, Unreadable
from labbook.model.fields import key_of
from labbook.model.moments import in_order
from labbook.show.sheet_vessels import POT, READ
from labbook.trade.exact import decimal_text
from labbook.trade.standing import field_of, parser_of
from labbook.work.bench import Bench
from labbook.work.draft import Draft
from labbook.work.sheet_entries import Item, Named, Placed, Raised
from labbook.work.sheet_places import where_of, with_value
from labbook.work.weigh_one import known_lot

_PLAIN = frozenset(
    {"lot", "batch", "balance", "ingredient", "phase", "with_", "known_from"}
)  # fmt: skip
"""Names, which the file has without quotation marks."""

_LISTS = {Reading: "readings", Remark: "remarks", Deviation: "deviations", Weighing: "weighings"}


class Taking:
    """One sheet on its way into one batch file; `batch` follows what is written."""

    def __init__(self, bench: Bench, batch: Batch) -> None:
        self.batch = batch
        self.draft = Draft(bench.root)
        self.said: list[str] = []
        self.remarks: list[str] = []
        self.already = 0
        self._bench = bench
        self._path = bench.batch_path(batch.id)

    def take(self, item: Item) -> None:
        """Writes one entry where it isn't there yet."""
        if isinstance(item, Placed):
            self._place(item)
        elif isinstance(item, Raised):
            self._raise(item)
        elif isinstance(item, Named):
            self._weigh(item)
        else:
            self._add(item)

    # Entries --------------------------------------------------------------------------------------

    def _standing(self, name: str, id_: str) -> tuple[int, Any] | None:
        held = enumerate(getattr(self.batch, name))
        return next(((index, one) for index, one in held if one.id == id_), None)

    def _list(self, name: str, entries: tuple[Any, ...]) -> None:
        change: dict[str, Any] = {name: entries}
        self.batch = replace(self.batch, **change)

    def _append(self, name: str, record: Any, said: str) -> None:
        known = self.batch.known_from
        record = replace(record, known_from=known, time=None) if known else record
        self._look_at_clock(record.time)
        self.draft.append(self._path, name, _data(record))
        self._list(name, (*getattr(self.batch, name), record))
        self.said.append(said)

    def _again(self, name: str, place: tuple[int, Any], record: Any, said: str) -> None:
        """An entry that stands there already: only a strike is new."""
        index, held = place
        told = (
            "line",
            "ingredient",
            "mass",
            "lot",
            "batch",
            "reading",
            "value",
            "seen",
            "text",
            "of",
        )
        differs = [
            key for key in told if getattr(held, key, None) != getattr(record, key, None)
        ]  # fmt: skip
        if differs:
            self.remarks.append(
                f"{record.id} stands in the notebook with another {differs[0]}; it stays as it is."
            )
            return
        struck = getattr(record, "struck", None)
        if not struck or held.struck:
            self.already += 1
            return
        self.draft.put(self._path, (name, index, "struck"), struck)
        entries = list(getattr(self.batch, name))
        entries[index] = replace(held, struck=struck)
        self._list(name, tuple(entries))
        self.said.append(f"struck: {said}, {struck}")

    def _weigh(self, item: Named) -> None:
        record = item.weighing
        line = next((one for one in self.batch.lines if one.id == record.line), None)
        if record.line and (line is None or line.ingredient != item.ingredient):
            raise self._foreign(f"line {record.line}, {item.ingredient}")
        said = f"{item.ingredient} {record.mass}"
        said += ", as target, not read" if record.as_target else ""
        place = self._standing("weighings", record.id)
        if place is not None:
            self._again("weighings", place, record, said)
            return
        if record.lot:
            known_lot(self._bench, record.lot)
            said += f", lot {record.lot}"
        if record.batch:
            said += f", from {self._premix(record.batch)}"
        if record.phase and record.phase not in {one.phase for one in self.batch.lines}:
            raise self._foreign(f"phase {record.phase}")
        tools = self.batch.tools
        record = replace(record, balance=tools.balance if tools else None)
        said += "" if record.line else "; no line foresaw it"
        said += f"; struck: {record.struck}" if record.struck else ""
        self._append("weighings", record, said)

    def _premix(self, id_: str) -> str:
        """The short name of the batch that a weight was taken from."""
        made = self._bench.snapshot.batches.get(id_)
        if made is None:
            raise UnknownName(
                f"Nothing was taken in: the notebook has no batch {id_}.",
                mend='Choose another on the sheet, under the line\'s "More of".',
            )
        if made.id == self.batch.id:
            raise NotAllowed(
                f"Nothing was taken in: {made.short} can't be made from itself.",
                mend="Choose the other batch on the sheet.",
            )
        return made.short

    def _add(self, record: Reading | Remark | Deviation) -> None:
        if record.step and record.step not in {step.id for step in self.batch.steps}:
            raise self._foreign(f"step {record.step}")
        name = _LISTS[type(record)]
        if isinstance(record, Reading):
            said = self._reading_said(record)
            tools = self.batch.tools
            if record.reading == "pH" and tools:
                record = replace(record, with_=tools.meter)
        else:
            said = record.text if isinstance(record, Remark) else f"differed: {record.text}"
        place = self._standing(name, record.id)
        if place is not None:
            self._again(name, place, record, said)
            return
        self._append(name, record, said)

    def _reading_said(self, record: Reading) -> str:
        figure = record.seen or f"{record.value:f} {record.unit or ''}".strip()
        if record.reading not in READ:
            return f"{record.reading} {figure}{f' of the {record.of}' if record.of else ''}"
        if record.of != POT and record.of not in {line.phase for line in self.batch.lines}:
            raise self._foreign(f"vessel {record.of}")
        where = "the pot" if record.of == POT else f"vessel {record.of}"
        return f"{record.reading} {figure}, {where}"

    def _raise(self, item: Raised) -> None:
        """The targets that the maker weighed up to, as they stood on the sheet."""
        if self._standing("deviations", item.id) is not None:
            self.already += 1
            return
        lines = {line.id: line for line in self.batch.lines}
        if not {item.line, *item.targets} <= set(lines):
            raise self._foreign(f"a line of {', '.join(item.targets)}")
        total = sum((mass.exact("g") for mass in item.targets.values()), Fraction())
        slipped = lines[item.line]
        own = item.targets.get(item.line)
        if set(item.targets) != set(lines) or total != item.size.exact("g") or own != item.mass:
            raise Unreadable(f"Nothing was taken in: the new targets of {item.id} don't add up.")
        for index, line in enumerate(self.batch.lines):
            if line.target and item.targets[line.id] != line.target:
                self.draft.put(self._path, ("lines", index, "target"), item.targets[line.id])
        self.draft.put(self._path, ("size",), item.size)
        self.batch = replace(
            self.batch,
            size=item.size,
            lines=tuple(
                replace(line, target=item.targets[line.id]) if line.target else line
                for line in self.batch.lines
            ),
        )
        over = item.mass.exact("g") - (slipped.target.exact("g") if slipped.target else 0)
        text = f"weighed up to {decimal_text(over)} g too much {slipped.ingredient}"
        record = Deviation(id=item.id, text=text, line=item.line, time=item.time)
        self._append("deviations", record, f"{text}: {item.size} in all")

    # Values in their places -----------------------------------------------------------------------

    def _place(self, item: Placed) -> None:
        found = where_of(self.batch, item)
        if found is None:
            raise self._foreign(f"place {item.place}, {item.key}")
        keys, kind, held, word = found
        parse = parser_of(kind, field_of(kind, str(keys[-1])) or "temperatures")
        try:
            value = parse(item.text) if parse else None
            before = [parse(text) for text in item.before] if parse else []
        except ValueError as error:
            raise Unreadable(f"Nothing was taken in: {item.place}, {item.key}: {error}.") from None
        said = f"{word} {_written(value)}"
        if held == value:
            self.already += 1
            return
        if held is not None and held not in before:
            self.remarks.append(
                f"{word} is {_written(held)} in the notebook and {_written(value)} on the sheet;"
                " the notebook's stays."
            )
            return
        self._look_at_clock(value)
        self.draft.put(self._path, keys, value)
        self._follow(item, value)
        if held is not None:
            self.remarks.append(f"{said} takes the place of {_written(held)}, typed before.")
        self.said.append(said)

    def _follow(self, item: Placed, value: Any) -> None:
        """Keeps `batch` as the file will be; a step of a batch from paper says so."""
        known = self.batch.known_from
        for index, step in enumerate(self.batch.steps):
            own = item.place == f"step {step.id}"
            if own and known and not (step.done or Done()).known_from:
                from labbook.notebook.emit import Word

                self.draft.put(self._path, ("steps", index, "done", "known from"), Word(known))
        self.batch = with_value(self.batch, item, value)

    # What to say ----------------------------------------------------------------------------------

    def _foreign(self, what: str) -> Unreadable:
        return Unreadable(
            f"Nothing was taken in: {self.batch.short} has no {what}.",
            mend="The sheet is of another state of the batch: make it once more, and type it"
            f" again. labbook batch sheet {self.batch.short} --page",
        )

    def _look_at_clock(self, moment: Any) -> None:
        if not isinstance(moment, datetime):
            return
        if in_order(moment) > in_order(self._bench.now) + timedelta(hours=1):
            self.remarks.append("The sheet's clock is ahead of this computer's; look at both.")
        elif in_order(moment) < in_order(self.batch.made) - timedelta(days=1):
            self.remarks.append("The sheet's clock is behind the day of the batch; look at it.")


def _written(value: Any) -> str:
    if isinstance(value, datetime):
        return value.strftime("%H:%M")
    return str(value)


def _data(record: Any) -> dict[str, Any]:
    """The keys of an entry as they go into the file."""
    from labbook.notebook.emit import Word

    found: dict[str, Any] = {}
    for field in fields(record):
        value = getattr(record, field.name)
        if value is None:
            continue
        plain = field.name in _PLAIN
        found[key_of(field.name)] = Word(value) if plain else value
    return found
