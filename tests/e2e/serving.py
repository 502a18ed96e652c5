"""`journal serve` at work in a process of its own, as a person has it in a second window."""

import contextlib
import http.client
import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Served:
    """Where the pages are: `127.0.0.1:PORT`."""

    host: str

    def get(self, path: str, host: str = "", method: str = "GET") -> tuple[int, bytes]:
        """The status and the body of an answer.

        Args:
            path: what is asked for, as it stands.
            host: the name that it is asked under; its own where empty.
            method: of HTTP.
        """
        name, port = self.host.split(":")
        connection = http.client.HTTPConnection(name, int(port), timeout=20)
        try:
            connection.putrequest(method, path, skip_host=True)
            connection.putheader("Host", host or self.host)
            connection.endheaders()
            answer = connection.getresponse()
            return answer.status, answer.read()
        finally:
            connection.close()


@contextlib.contextmanager
def serving(notebook: Path) -> Iterator[Served]:
    """The pages of a notebook, served until the end; Ctrl-C has to end it well."""
    words = [sys.executable, "-m", "labbook", "journal", "serve"]
    process = subprocess.Popen(
        words, cwd=notebook, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    assert process.stdout is not None
    try:
        said = ""
        for line in process.stdout:
            said += line
            if found := re.search(r"http://([0-9.:]+)/", line):
                yield Served(found[1])
                break
        else:
            raise AssertionError(said)
    finally:
        process.send_signal(signal.SIGINT)
        assert process.wait(20) in (0, 130)
        process.stdout.close()
