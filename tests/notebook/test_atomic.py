"""A file is replaced whole or not at all, and never over something that was not read."""

import errno
import os
import socket
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from labbook.model.errors import ChangedMeanwhile, LabbookError, NotAllowed
from labbook.notebook import atomic
from labbook.notebook.atomic import NotWritten, remove_file, write_file


def names(folder: Path) -> list[str]:
    return sorted(entry.name for entry in folder.iterdir())


def test_a_new_file_and_its_folders(tmp_path: Path) -> None:
    file = tmp_path / "batches" / "2026" / "a.yaml"
    write_file(file, b"1\r\n\0", expect=None, root=tmp_path)
    assert file.read_bytes() == b"1\r\n\0"
    assert names(file.parent) == ["a.yaml"]


@pytest.mark.skipif(os.name == "nt", reason="rights are of POSIX")
def test_rights_stay_and_new_files_follow_the_mask(tmp_path: Path) -> None:
    file = tmp_path / "a"
    before = os.umask(0o027)
    try:
        write_file(file, b"1", expect=None)
    finally:
        os.umask(before)
    assert stat.S_IMODE(file.stat().st_mode) == 0o640
    file.chmod(0o604)
    write_file(file, b"2", expect=b"1")
    assert stat.S_IMODE(file.stat().st_mode) == 0o604


@pytest.mark.parametrize(
    ("there", "expect", "said"),
    [(b"x", b"1", "was changed"), (b"x", None, "appeared"), (None, b"1", "was deleted")],
)
def test_what_changed_meanwhile_is_left(
    there: bytes | None, expect: bytes | None, said: str, tmp_path: Path
) -> None:
    file = tmp_path / "a"
    if there is not None:
        file.write_bytes(there)
    with pytest.raises(ChangedMeanwhile, match=said):
        write_file(file, b"2", expect=expect)
    assert names(tmp_path) == ([] if there is None else ["a"])
    assert there is None or file.read_bytes() == there


def test_removing(tmp_path: Path) -> None:
    file = tmp_path / "a"
    file.write_bytes(b"1")
    with pytest.raises(ChangedMeanwhile):
        remove_file(file, expect=b"2")
    remove_file(file, expect=b"1")
    assert names(tmp_path) == []
    with pytest.raises(ChangedMeanwhile, match="was deleted"):
        remove_file(file, expect=b"1")


# Failures: a failed write must never leave an empty file (blakeblackshear/frigate#23138) ----------

Breaker = Callable[[BaseException, pytest.MonkeyPatch], None]


def _break(module: object, name: str) -> Breaker:
    def install(error: BaseException, patch: pytest.MonkeyPatch) -> None:
        def fail(*_: object, **__: object) -> None:
            raise error

        patch.setattr(module, name, fail)

    return install


def _half_a_write(error: BaseException, patch: pytest.MonkeyPatch) -> None:
    """The disk takes the first bytes and then no more."""
    real = os.fdopen

    class Half:
        def __init__(self, handle: int, mode: str) -> None:
            self.file = real(handle, mode, buffering=0)

        def __enter__(self) -> "Half":
            return self

        def __exit__(self, *_: object) -> None:
            self.file.close()

        def write(self, data: bytes) -> int:
            self.file.write(data[:2])
            raise error

    patch.setattr(os, "fdopen", Half)


STEPS: dict[str, Breaker] = {
    "open": _break(os, "open"),
    "write": _half_a_write,
    "rights": _break(os, "fchmod"),
    "fsync": _break(os, "fsync"),
    "replace": _break(Path, "replace"),
}
ERRORS = {
    "full": (OSError(errno.ENOSPC, "No space left on device"), "the disk is full"),
    "quota": (OSError(errno.EDQUOT, "Quota exceeded"), "your share of the disk"),
    "rights": (PermissionError(errno.EACCES, "Permission denied"), "its rights forbid it"),
    "read-only": (OSError(errno.EROFS, "Read-only file system"), "can only be read"),
    "other": (OSError(errno.EIO, "Input/output error"), "Input/output error"),
    "ctrl-c": (KeyboardInterrupt(), ""),
}


@pytest.mark.skipif(os.name == "nt", reason="steps are those of POSIX")
@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("kind", ERRORS)
def test_an_error_at_any_step_leaves_the_old_bytes(
    step: str, kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "a.yaml"
    file.write_bytes(b"old")
    error, said = ERRORS[kind]
    with monkeypatch.context() as patch:
        STEPS[step](error, patch)
        with pytest.raises((LabbookError, KeyboardInterrupt)) as caught:
            write_file(file, b"new bytes", expect=b"old", root=tmp_path)
    if said:
        assert isinstance(caught.value, NotWritten)
        assert said in caught.value.what
        assert caught.value.mend
        assert caught.value.exit_code == 3
    assert file.read_bytes() == b"old"
    assert names(tmp_path) == ["a.yaml"]


# Places that are not for writing ------------------------------------------------------------------


@pytest.mark.parametrize(
    "path",
    ["../out.yaml", "a/../../out.yaml", "/tmp/out.yaml", ".git/hooks/pre-commit", ".GIT/config",
     "a/git~1/x", "sub/.git/config"],
)  # fmt: skip
def test_paths_that_lead_out_or_into_git(path: str, tmp_path: Path) -> None:
    root = tmp_path / "nb"
    (root / "a").mkdir(parents=True)
    with pytest.raises(NotAllowed):
        write_file(root / path, b"1", expect=None, root=root)
    assert names(tmp_path) == ["nb"]
    assert names(root) == ["a"]


# Names that Windows keeps for devices: "Naming Files, Paths, and Namespaces", Microsoft's
# documentation of the Win32 API; from memory.
@pytest.mark.parametrize(
    "name",
    ["CON", "con.yaml", "Prn.tar.gz", "AUX", "nul.yaml", "COM1", "com9.yaml", "LPT1.yaml", "lpt²",
     "CONIN$", "conout$.yaml", "aux .yaml", "end.", "blank "],
)  # fmt: skip
def test_names_that_windows_keeps(name: str, tmp_path: Path) -> None:
    for path in (tmp_path / name, tmp_path / name / "a.yaml"):
        with pytest.raises(NotAllowed, match="Windows"):
            write_file(path, b"1", expect=None, root=tmp_path)
    assert names(tmp_path) == []


@pytest.mark.parametrize(
    "name", ["CONE.yaml", "com.yaml", "com10.yaml", "nulla", "crème é.yaml", ".a"]
)
def test_names_that_only_look_alike(name: str, tmp_path: Path) -> None:
    write_file(tmp_path / name, b"1", expect=None, root=tmp_path)
    assert names(tmp_path) == [name]


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_links_that_lead_out(tmp_path: Path) -> None:
    root, out = tmp_path / "nb", tmp_path / "out"
    root.mkdir()
    out.mkdir()
    (root / "lots").symlink_to(out)
    (root / "gone").symlink_to(tmp_path / "nowhere")
    for path in ("lots/a.yaml", "lots/deeper/a.yaml", "gone/a.yaml"):
        with pytest.raises(NotAllowed, match="outside the notebook"):
            write_file(root / path, b"1", expect=None, root=root)
    assert names(out) == []
    assert names(tmp_path) == ["nb", "out"]


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_a_notebook_reached_through_a_link_is_written(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "nb").symlink_to(tmp_path / "real")
    write_file(tmp_path / "nb" / "lots" / "a", b"1", expect=None, root=tmp_path / "nb")
    assert (tmp_path / "real" / "lots" / "a").read_bytes() == b"1"


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_only_plain_files_are_replaced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "target").write_bytes(b"1")
    (tmp_path / "link").symlink_to("target")
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    with socket.socket(socket.AF_UNIX) as plug:
        monkeypatch.chdir(tmp_path)  # a socket's path must be short
        plug.bind("plug")
    for name in ("link", "folder", "pipe", "plug"):
        with pytest.raises(NotAllowed, match="not a plain file"):
            write_file(tmp_path / name, b"2", expect=b"1", root=tmp_path)
    assert (tmp_path / "target").read_bytes() == b"1"
    assert (tmp_path / "link").is_symlink()


def test_a_file_where_a_folder_should_be(tmp_path: Path) -> None:
    (tmp_path / "lots").write_bytes(b"1")
    with pytest.raises(NotWritten):
        write_file(tmp_path / "lots" / "a.yaml", b"1", expect=None, root=tmp_path)


def test_temporary_names_can_be_ignored_by_a_pattern(tmp_path: Path) -> None:
    ready = atomic.Pending(tmp_path / "a.yaml", b"1")
    assert ready.temporary.name.startswith(".labbook-tmp-")
    assert names(tmp_path) == [ready.temporary.name]
    ready.discard()
    assert names(tmp_path) == []
