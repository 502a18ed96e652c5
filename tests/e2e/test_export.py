"""`export` as installed: files read back by other programs, and what is never written over."""

import csv
import hashlib
import json
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from tests.e2e.bench import ended, through_the_door

# It has no types of its own.
parquet: Any = import_module("pyarrow.parquet")


def export(cwd: Path, *words: str | Path, code: int = 0) -> str:
    ran = ended(through_the_door("export", *words, cwd=cwd), code)
    return ran.err if code else ran.out


def rows(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def bytes_of(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_the_tables_hold_what_the_files_say(replayed: Path, tmp_path: Path) -> None:
    export(replayed, tmp_path / "out")
    versions = {row["version"] for row in rows(tmp_path / "out/versions.csv")}
    assert {"SBC@1", "SBC@5", "KHB@2", "SHL@3"} <= versions
    batches = rows(tmp_path / "out/batches.csv")
    assert {row["batch"] for row in batches} == {
        path.parent.name for path in replayed.glob("batches/*/*/batch.yaml")
    }
    assert {row["version"] for row in batches} <= versions
    state = {
        (r["batch"], r["condition"], r["failure_group"]): r
        for r in rows(tmp_path / "out/outcomes.csv")
    }
    failed = state["SBC-260122-9T", "room", "separation"]
    assert (failed["state"], failed["last_intact"], failed["first_failed"]) == ("failed", "1", "7")


def test_the_descriptor_tells_the_truth_about_each_file(replayed: Path, tmp_path: Path) -> None:
    export(replayed, tmp_path / "out", "--parquet")
    told = json.loads((tmp_path / "out/datapackage.json").read_text(encoding="utf-8"))
    listed = {one["path"]: one for one in told["resources"]}
    found = bytes_of(tmp_path / "out")
    assert listed.keys() == found.keys() - {"datapackage.json"}
    for name, one in listed.items():
        assert one["bytes"] == len(found[name])
        assert one["hash"] == f"sha256:{hashlib.sha256(found[name]).hexdigest()}"


def test_the_same_notebook_gives_the_same_bytes(replayed: Path, tmp_path: Path) -> None:
    export(replayed, tmp_path / "one")
    export(replayed, tmp_path / "two")
    assert bytes_of(tmp_path / "one") == bytes_of(tmp_path / "two")


def test_parquet_has_the_same_rows_with_types(replayed: Path, tmp_path: Path) -> None:
    """Read back with pyarrow itself, another reader than the one that wrote the CSV."""
    export(replayed, tmp_path / "out", "--parquet")
    kinds = {"integer": "int64", "number": "double", "boolean": "bool", "string": "string",
             "date": "date32[day]"}  # fmt: skip
    told = json.loads((tmp_path / "out/datapackage.json").read_text(encoding="utf-8"))
    for one in told["resources"]:
        if "schema" not in one:
            continue
        table = parquet.read_table(str(tmp_path / f"out/{one['name']}.parquet"))
        plain = rows(tmp_path / "out" / one["path"])
        assert [str(field.type) for field in table.schema] == [
            kinds[field["type"]] for field in one["schema"]["fields"]
        ]
        assert table.num_rows == len(plain)
        for name, typed in ((f["name"], f["type"]) for f in one["schema"]["fields"]):
            cells = [cell or None for cell in (row[name] for row in plain)]
            values = table[name].to_pylist()
            assert [value is None for value in values] == [cell is None for cell in cells]
            if typed in ("integer", "number"):
                assert values == [None if cell is None else float(cell) for cell in cells]


def test_without_pyarrow_a_sentence_says_so_and_nothing_is_written(
    replayed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "pyarrow", None)
    said = export(replayed, tmp_path / "out", "--parquet", code=2)
    assert "pyarrow" in said and "pip install" in said
    assert not (tmp_path / "out").exists()


def test_people_and_prices_only_when_asked_for(replayed: Path, tmp_path: Path) -> None:
    assert "lots.supplier" in export(replayed, tmp_path / "out")
    assert "supplier" not in rows(tmp_path / "out/lots.csv")[0]
    assert "keep it out" in export(replayed, tmp_path / "out", "--private")
    assert any(row["supplier"] for row in rows(tmp_path / "out/lots.csv"))


def test_an_earlier_export_is_renewed_and_what_it_had_too_much_goes(
    replayed: Path, tmp_path: Path
) -> None:
    export(replayed, tmp_path / "out", "--parquet")
    (tmp_path / "out/mine.txt").write_text("mine", encoding="utf-8")
    export(replayed, tmp_path / "out")
    left = {path.name for path in (tmp_path / "out").iterdir()}
    assert not [name for name in left if name.endswith(".parquet")]
    assert "mine.txt" in left and "looks.csv" in left


@pytest.mark.parametrize("name", ["looks.csv", "datapackage.json", "DICTIONARY.md"])
def test_a_file_of_somebody_elses_is_never_written_over(
    replayed: Path, tmp_path: Path, name: str
) -> None:
    (tmp_path / name).write_text("mine", encoding="utf-8")
    assert name in export(replayed, tmp_path, code=2)
    assert bytes_of(tmp_path) == {name: b"mine"}


def test_a_table_that_was_changed_since_is_never_written_over(
    replayed: Path, tmp_path: Path
) -> None:
    export(replayed, tmp_path / "out")
    with (tmp_path / "out/looks.csv").open("a", encoding="utf-8") as file:
        file.write("mine\n")
    before = bytes_of(tmp_path / "out")
    assert "looks.csv" in export(replayed, tmp_path / "out", code=2)
    assert bytes_of(tmp_path / "out") == before


def test_a_link_in_the_folder_is_not_followed(replayed: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "elsewhere").write_text("mine", encoding="utf-8")
    (tmp_path / "out/looks.csv").symlink_to(tmp_path / "elsewhere")
    export(replayed, tmp_path / "out", code=2)
    assert (tmp_path / "elsewhere").read_text(encoding="utf-8") == "mine"


def test_a_foreign_descriptor_cannot_have_a_file_taken_away(replayed: Path, tmp_path: Path) -> None:
    """A descriptor names any path; only names that an export gives are ever looked at."""
    out = tmp_path / "out"
    export(replayed, out)
    victim = tmp_path / "victim"
    victim.write_text("mine", encoding="utf-8")
    told = json.loads((out / "datapackage.json").read_text(encoding="utf-8"))
    hash_ = f"sha256:{hashlib.sha256(b'mine').hexdigest()}"
    told["resources"].append({"path": "../victim", "hash": hash_})
    (out / "datapackage.json").write_text(json.dumps(told), encoding="utf-8")
    export(replayed, out)
    assert victim.read_text(encoding="utf-8") == "mine"


def test_a_folder_that_can_not_be_made_is_said(replayed: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert "can't be written" in export(replayed, tmp_path / "file/out", code=2)
