"""What is installed works: as a wheel, as a wheel made from the source archive, and editable."""

import os
import re
import subprocess
import sys
import sysconfig
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest

import labbook
from labbook import shipped
from tests.conftest import RunLabbook

ROOT = Path(__file__).resolve().parent.parent
FOLDERS: tuple[shipped.Folder, ...] = ("templates", "sample_repo")
HOWS = ("wheel", "wheel from the source archive", "editable")

WHERE = """\
import labbook, labbook.shipped
print(labbook.__file__, *map(labbook.shipped.shipped, ("templates", "sample_repo")), sep="\\n")
"""


def run(*command: str | Path, cwd: Path) -> str:
    """The output of a command that has to succeed."""
    ran = subprocess.run(
        [str(part) for part in command],
        cwd=cwd,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    return ran.stdout


def files_below(folder: Path) -> set[str]:
    """Files of a folder by relative path, without what Python leaves behind."""
    return {
        file.relative_to(folder).as_posix()
        for file in folder.rglob("*")
        if file.is_file() and "__pycache__" not in file.parts
    }


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The wheel, the source archive, and the wheel made from that; no network, no isolation."""
    straight, archive = tmp_path_factory.mktemp("wheel"), tmp_path_factory.mktemp("archive")
    build = (sys.executable, "-m", "build", "--no-isolation", "--outdir")
    run(*build, straight, "--wheel", ROOT, cwd=straight)
    run(*build, archive, ROOT, cwd=archive)  # without --wheel: the wheel is made from the archive
    (wheel,) = straight.glob("*.whl")
    (from_archive,) = archive.glob("*.whl")
    (sdist,) = archive.glob("*.tar.gz")
    return {"wheel": wheel, "wheel from the source archive": from_archive, "sdist": sdist}


def make_environment(folder: Path) -> Path:
    """A fresh environment that borrows the libraries, but not labbook, from this one.

    Python follows a .pth file into this environment's libraries, but not the .pth files there, so
    an editable labbook stays out of sight.
    """
    venv.EnvBuilder(with_pip=False, symlinks=os.name != "nt").create(folder)
    python = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    code = "import sysconfig; print(sysconfig.get_path('purelib'))"
    packages = Path(run(python, "-c", code, cwd=folder).strip())
    borrowed = dict.fromkeys(sysconfig.get_path(name) for name in ("purelib", "platlib"))
    (packages / "borrowed.pth").write_text("\n".join(borrowed) + "\n", encoding="utf-8")
    return python


@pytest.mark.parametrize("how", HOWS)
def test_installed_it_starts_and_finds_its_folders(
    tmp_path: Path, built: dict[str, Path], how: str
) -> None:
    python = make_environment(tmp_path / "environment")
    install = (sys.executable, "-m", "pip", "--python", python, "install", "--quiet")
    offline = ("--no-deps", "--no-index", "--no-build-isolation", "--no-cache-dir")
    what = ("--editable", ROOT) if how == "editable" else (built[how],)
    run(*install, *offline, *what, cwd=tmp_path)

    package, *folders = map(Path, run(python, "-c", WHERE, cwd=tmp_path).splitlines())
    if how == "editable":
        assert package.parent == ROOT / "labbook"
        assert folders == [ROOT / name for name in FOLDERS]
    else:
        assert package.is_relative_to(tmp_path)
        assert folders == [package.parent / "_shipped" / name for name in FOLDERS]
    for name, folder in zip(FOLDERS, folders, strict=True):
        assert files_below(folder) == files_below(ROOT / name)

    (script,) = python.parent.glob("labbook*")
    from_script = run(script, "--help", cwd=tmp_path)
    from_module = run(python, "-m", "labbook", "--help", cwd=tmp_path)
    assert "demo" in from_script
    assert "demo" in from_module


@pytest.mark.parametrize("how", ["wheel", "wheel from the source archive"])
def test_the_wheel_holds_the_package_the_folders_and_nothing_else(
    built: dict[str, Path], how: str
) -> None:
    with zipfile.ZipFile(built[how]) as wheel:
        names = {name for name in wheel.namelist() if ".dist-info/" not in name}
        for name in FOLDERS:
            for file in files_below(ROOT / name):
                inside = wheel.read(f"labbook/_shipped/{name}/{file}")
                assert inside == (ROOT / name / file).read_bytes(), f"{name}/{file}"
    expected = {f"labbook/{file}" for file in files_below(ROOT / "labbook")}
    for name in FOLDERS:
        expected |= {f"labbook/_shipped/{name}/{file}" for file in files_below(ROOT / name)}
    assert names == expected
    assert "labbook/py.typed" in names


def test_metadata(built: dict[str, Path]) -> None:
    with zipfile.ZipFile(built["wheel"]) as wheel:
        (name,) = (name for name in wheel.namelist() if name.endswith(".dist-info/METADATA"))
        metadata = wheel.read(name).decode("utf-8")
    head = metadata.partition("\n\n")[0].splitlines()
    assert "Name: emulsion-labbook" in head
    assert f"Version: {labbook.__version__}" in head
    assert "Summary: labbook, a formula notebook for emulsion makers" in head
    assert "License-Expression: MIT" in head
    assert "Requires-Python: >=3.11" in head


@pytest.mark.parametrize("through", ["script", "module"])
def test_the_command_of_this_environment_starts(run_labbook: RunLabbook, through: str) -> None:
    ran = run_labbook("--help", through="module" if through == "module" else "script")
    assert ran.code == 0, ran.err
    assert "demo" in ran.out


# The resolver ----------------------------------------------------------------------------------


def test_a_folder_inside_the_package_comes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shipped, "PACKAGE", tmp_path / "labbook")
    (tmp_path / "pyproject.toml").touch()
    (tmp_path / "templates").mkdir()
    assert shipped.shipped("templates") == tmp_path / "templates"
    inside = tmp_path / "labbook" / "_shipped" / "templates"
    inside.mkdir(parents=True)
    assert shipped.shipped("templates") == inside


def test_a_stranger_beside_an_installed_package_is_not_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shipped, "PACKAGE", tmp_path / "labbook")
    (tmp_path / "templates").mkdir()
    with pytest.raises(FileNotFoundError, match="install emulsion-labbook again"):
        shipped.shipped("templates")


# The lock file ---------------------------------------------------------------------------------


def canonical(name: str) -> str:
    """A distribution's name as the packaging specifications compare it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def test_the_lock_file_pins_every_requirement_and_names_no_host() -> None:
    text = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    pins = [re.fullmatch(r"([A-Za-z0-9._-]+)==[A-Za-z0-9.+!]+", line) for line in lines]
    assert all(pins), [line for line, pin in zip(lines, pins, strict=True) if not pin]
    pinned = {canonical(pin[1]) for pin in pins if pin}
    assert "://" not in text

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = project["dependencies"] + project["optional-dependencies"]["test"]
    names = {canonical(re.split(r"[\[<>=~!; ]", requirement)[0]) for requirement in wanted}
    assert names <= pinned, f"not pinned: {sorted(names - pinned)}"
