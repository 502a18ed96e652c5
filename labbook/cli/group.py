"""The help page: commands stand under the moment in which they are used."""

from __future__ import annotations

from typing import Any

from typer.core import TyperGroup

MOMENTS = ("Making", "Looking", "Thinking", "Formulas", "Telling", "Keeping")


class Moments(TyperGroup):
    """A group whose help lists commands by moment, in the order of `MOMENTS`."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Writes the sections of the help page; a command without a moment comes last."""
        found: dict[str, list[tuple[str, str]]] = {moment: [] for moment in (*MOMENTS, "Commands")}
        shown = [(n, c) for n in self.list_commands(ctx) if (c := self.get_command(ctx, n))]
        names = [name for name, command in shown if not command.hidden]
        limit = formatter.width - 6 - max(map(len, names), default=0)
        for name, command in shown:
            if not command.hidden:
                moment = getattr(command, "rich_help_panel", None)
                moment = moment if moment in found else "Commands"
                found[moment].append((name, command.get_short_help_str(limit)))
        for moment, rows in found.items():
            if rows:
                with formatter.section(moment):
                    formatter.write_dl(rows)
