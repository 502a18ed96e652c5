"""The commands by the moment in which they are used, as the help page shows them.

Only a name, a line and where to find it: a command is built when it is called, which keeps the
start as quick as that of the bare command-line library.
"""

from __future__ import annotations

from typing import NamedTuple

MOMENTS = ("Making", "Looking", "Thinking", "Formulas", "Telling", "Keeping")


class Entry(NamedTuple):
    """A command, or a group of commands: its moment, `module:function`, and a line of help."""

    moment: str
    target: str
    help: str
    group: bool = False


COMMANDS = {
    "make": Entry("Making", "making:make", "open a batch; saves a changed formula first"),
    "weigh": Entry("Making", "making:weigh", "type in what the balance shows"),
    "note": Entry("Making", "making:note", "write down a reading, a step, a remark"),
    "close": Entry("Making", "making:close", "yield, jars, and where each stands"),
    "batch": Entry("Making", "batches:group", "list, show, sheet, correct, drop", group=True),
    "due": Entry("Looking", "looking:due", "overdue, today, the coming week"),
    "look": Entry("Looking", "looking:look", "write down a look; alone: all that is due"),
    "outcomes": Entry("Looking", "looking:outcomes", "what became of a formula's batches"),
    "stability": Entry("Looking", "looking:group", "due, look, outcomes, plan, trend", group=True),
    "log": Entry("Thinking", "thinking:log", "a formula's versions, and their batches"),
    "diff": Entry("Thinking", "thinking:diff", "tell two versions or two batches apart"),
    "why": Entry("Thinking", "asking:why", "what can be the cause of a failure, and how sure"),
    "next": Entry("Thinking", "asking:next_", "the one batch that would tell"),
    "show": Entry("Formulas", "formulas:show", "a formula, batch, jar, ingredient, lot or tool"),
    "check": Entry("Formulas", "keeping:check", "what is unsound, and what was not checked"),
    "save": Entry("Formulas", "formulas:save", "number a formula's content where it changed"),
    "restore": Entry("Formulas", "formulas:restore", "back to a version, under a new number"),
    "edit": Entry("Formulas", "formulas:edit", "open a file in your editor"),
    "formula": Entry("Formulas", "formulas:group", "new, list, scale, label, import", group=True),
    "ingredient": Entry("Formulas", "materials:ingredients", "sheets and lots", group=True),
    "equipment": Entry("Formulas", "materials:equipment", "balances, mixers, meters", group=True),
    "journal": Entry("Telling", "telling:group", "new, public, private, check, build", group=True),
    "init": Entry("Keeping", "keeping:init", "start a notebook"),
    "demo": Entry("Keeping", "keeping:demo", "a sample notebook, and its story"),
    "sync": Entry("Keeping", "syncing:sync", "exchange entries with a copy elsewhere"),
    "trace": Entry("Keeping", "tracing:trace", "what hangs on a lot, batch, jar; a recall list"),
    "export": Entry("Keeping", "exporting:export", "all as CSV tables whose keys join"),
    "trust": Entry("Keeping", "trusting:trust", "let the notebook's own templates run"),
    "undo": Entry("Keeping", "keeping:undo", "take back the last command, by a new commit"),
    "help": Entry("Keeping", "keeping:help_", "help words; help COMMAND; help RULE"),
}
