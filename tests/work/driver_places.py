"""Other places for the program that a clone's git starts, for tests of what then happens."""

from __future__ import annotations

from pathlib import Path
from unittest import mock

from labbook.work import driver_setup
from tests.notebook.repos import put, run_git


def gone(root: Path, program: Path) -> None:
    """Has git start a program at this place, whether there is one or not."""
    with mock.patch.object(driver_setup, "program", lambda: (str(program), "")):
        driver_setup.set_up(root)


def plain_git(root: Path) -> None:
    """Has git merge as it does where labbook was never set up."""
    run_git(root, "config", "--remove-section", f"merge.{driver_setup.NAME}")


def instead(root: Path, folder: Path, body: str) -> Path:
    """Has git start a script of the test's own."""
    script = put(folder, "stand-in/labbook", f"{body}\n")
    script.chmod(0o755)
    gone(root, script)
    return script


def program_in(folder: Path) -> Path:
    """The installed program, to be started from another folder."""
    real, run = driver_setup.program()
    script = put(folder, "labbook", f'#!/bin/sh\nexec "{real}" {run}"$@"\n')
    script.chmod(0o755)
    return script
