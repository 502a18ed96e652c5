"""What is said when the program itself is wrong: a sentence, and a report in a file."""

from __future__ import annotations

import os
import platform
import sys
import tempfile
import traceback


def report() -> None:
    """Writes a bug report without any value of the notebook, and says where it is."""
    import labbook

    kind, found, trace = sys.exc_info()
    frames = "".join(traceback.format_tb(trace))
    text = (
        f"labbook {labbook.__version__}, Python {platform.python_version()},"
        f" {platform.system()}\n\n"
        f"{frames}{kind.__name__ if kind else 'error'}: {found}\n"
    )
    try:
        handle, path = tempfile.mkstemp(prefix="labbook-report-", suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.write(text)
        told = f"What happened stands in {path}; read it before you show it to anybody."
    except OSError:
        told = text
    sys.stderr.write(
        "stopped     The program made a mistake; it is not yours. What was recorded is kept.\n"
        f"            {told}\n"
    )
