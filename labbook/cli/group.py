"""The door's group of commands: listed from a table, built when called."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from importlib import import_module
from typing import Any, cast

import typer
from typer.core import TyperGroup

from labbook.cli.table import COMMANDS, MOMENTS


def group_of(help_: str) -> typer.Typer:
    """An empty inner group of commands."""
    return typer.Typer(
        rich_markup_mode=None, no_args_is_help=True, add_completion=False, help=help_
    )


class Moments(TyperGroup):
    """The commands of the table; the help page lists them by moment."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self._built: dict[str, Any] = {}
        # Only the names are looked at here, to offer a near one for a slip.
        self.commands = cast("Any", dict.fromkeys(COMMANDS))

    def list_commands(self, ctx: Any) -> list[str]:
        """The names, in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The command, built now; None for a name that is none."""
        entry = COMMANDS.get(cmd_name)
        if entry is None:
            return None
        if cmd_name not in self._built:
            module, _, function = entry.target.partition(":")
            found = getattr(import_module(f"labbook.cli.{module}"), function)
            app = found() if entry.group else _alone(cmd_name, found)
            self._built[cmd_name] = typer.main.get_command(app)
        return self._built[cmd_name]

    def make_context(self, *args: Any, **settings: Any) -> Any:
        """The context of a run; errors tell what was typed without its codes."""
        with _cleaned():
            return super().make_context(*args, **settings)

    def invoke(self, ctx: Any) -> Any:
        """Runs the command; errors as in `make_context`."""
        with _cleaned():
            return super().invoke(ctx)

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Writes the sections of the help page without building a command."""
        for moment in MOMENTS:
            rows = [
                (name, entry.help) for name, entry in COMMANDS.items() if entry.moment == moment
            ]
            if rows:
                with formatter.section(moment):
                    formatter.write_dl(rows)


@contextlib.contextmanager
def _cleaned() -> Iterator[None]:
    """Takes what a terminal would obey out of the library's own errors, which repeat arguments."""
    try:
        yield
    except Exception as error:
        message = getattr(error, "message", None)
        if hasattr(error, "show") and isinstance(message, str):
            from labbook.show.layout import clean

            error.message = "\n".join(clean(line) for line in message.split("\n"))  # type: ignore[attr-defined]
        raise


def _alone(name: str, function: Any) -> typer.Typer:
    app = typer.Typer(rich_markup_mode=None, add_completion=False)
    app.command(name)(function)
    return app
