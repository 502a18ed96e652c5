"""The journal with the installed command: private by default, the same bytes, links that lead."""

import json
import subprocess
from html.parser import HTMLParser
from pathlib import Path

from tests.conftest import RunLabbook


def files_of(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def git(root: Path, *words: str) -> str:
    ran = subprocess.run(
        ["git", *words], cwd=root, capture_output=True, encoding="utf-8", check=True
    )
    return ran.stdout.strip()


class Links(HTMLParser):
    """Where a page's links lead, and what can be led to in it."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.hrefs: list[str] = []
        self.ids: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name == "href" and value:
                self.hrefs.append(value)
            if name == "id" and value:
                self.ids.append(value)


def test_building_twice_gives_the_same_bytes(
    run_labbook: RunLabbook, sample: Path, tmp_path: Path
) -> None:
    first = run_labbook("journal", "build", cwd=sample)
    assert (first.code, first.err) == (0, "")
    once = files_of(sample / "site")
    second = json.loads(run_labbook("journal", "build", "--json", cwd=sample).out)
    assert files_of(sample / "site") == once
    assert (second["written"], second["removed"]) == (0, 0)
    assert second["state"]["new"] == second["state"]["changed"] == []
    elsewhere = run_labbook("journal", "build", "--output", tmp_path / "out", cwd=sample)
    assert elsewhere.code == 0
    assert files_of(tmp_path / "out") == once
    assert git(sample, "status", "--porcelain") == "M formulas/KHB.yaml"


def test_every_link_leads_somewhere(run_labbook: RunLabbook, sample: Path) -> None:
    run_labbook("journal", "build", cwd=sample)
    site = sample / "site"
    pages = {path: Links(path.read_text("utf-8")) for path in site.rglob("*.html")}
    reached = {site / "index.html"}
    for path, links in pages.items():
        assert len(links.ids) == len(set(links.ids))
        for href in links.hrefs:
            target, _, anchor = href.partition("#")
            file = (path.parent / target).resolve() if target else path
            assert file.is_file(), (path, href)
            assert not anchor or anchor in pages[file].ids
            reached.add(file)
    assert set(pages) <= reached


def test_the_sample_shows_what_it_makes_public_and_nothing_else(
    run_labbook: RunLabbook, sample: Path
) -> None:
    run_labbook("journal", "build", cwd=sample)
    files = files_of(sample / "site")
    everything = b"\n".join(files.values())
    assert b"formulas/KHB.html" not in b"\n".join(path.encode() for path in files)
    for word in (b"KHB", b"Kiln-day", b"Fine sand", b"sunflower-oil-2601", b"supplier:", b"W3"):
        assert word not in everything, word
    for word in (b"Supplier A", b"Supplier B", b"made here"):  # the sample's suppliers
        assert word not in everything, word
    for lot in (sample / "lots").glob("*.yaml"):
        assert lot.stem.encode() not in everything
    entry = files["entries/2026-01-30-a-pool-under-the-cream.html"].decode()
    assert "water phase when combined" in entry
    assert "failed\u00a01\u20117" in entry
    assert "labbook diff" not in entry
    assert "2 batches are not shown" in files["formulas/SHL.html"].decode()


def test_what_is_made_private_is_taken_away(run_labbook: RunLabbook, sample: Path) -> None:
    run_labbook("journal", "build", cwd=sample)
    its = ("batches/SBC-260122-9T.html", "markdown/batches/SBC-260122-9T.md",
           "markdown/pictures/timeline-SBC-260122-9T.svg")  # fmt: skip
    assert all((sample / "site" / path).is_file() for path in its)
    head = git(sample, "rev-parse", "HEAD")
    assert run_labbook("journal", "private", "9t", cwd=sample).code == 0
    assert git(sample, "rev-parse", "HEAD~1") == head
    checked = json.loads(run_labbook("journal", "check", "--json", cwd=sample).out)
    assert "batch SBC-260122-9T" in checked["gone"]
    assert [one["rule"] for one in checked["problems"]] == ["broken-block"]
    built = run_labbook("journal", "build", cwd=sample)
    assert "3 taken away" in built.out
    assert not any((sample / "site" / path).exists() for path in its)
    assert "9T" not in (sample / "site/markdown/pictures/timeline-SBC.svg").read_text("utf-8")
    page = (sample / "site/entries/2026-01-30-a-pool-under-the-cream.html").read_text("utf-8")
    assert '<blockquote class="broken">' in page
    assert "there is no public batch 9T" in page


def test_a_closed_batch_may_be_made_public(run_labbook: RunLabbook, sample: Path) -> None:
    refused = run_labbook("journal", "public", "b6", cwd=sample)
    assert refused.code != 0
    assert "labbook journal public KHB" in refused.err
    assert run_labbook("journal", "public", "khb", cwd=sample).code == 0
    assert run_labbook("journal", "public", "b6", cwd=sample).code == 0
    data = json.loads(run_labbook("check", "b6", "--json", cwd=sample).out)
    assert "closed-batch-changed" not in [one["rule"] for one in data["problems"]]
    new = json.loads(run_labbook("journal", "check", "--json", cwd=sample).out)["new"]
    assert "batch KHB-260318-B6" in new
    assert "batch KHB-260128-M8" not in new


def test_an_entry_from_its_first_line_to_its_page(run_labbook: RunLabbook, sample: Path) -> None:
    begun = run_labbook("journal", "new", "A cure for dry hands?", cwd=sample)
    assert begun.code == 0
    path = sample / "journal/2026-04-16-a-cure-for-dry-hands.md"
    assert path.read_text("utf-8") == (
        '---\ntitle: "A cure for dry hands?"\ndate: 2026-04-16\npublic: "no"\n---\n\n'
    )
    assert git(sample, "status", "--porcelain", "journal") == ""
    text = path.read_text("utf-8") + (
        "It heals eczema.\n\n```labbook\nshow SBC@9\n```\n\n<script>1</script>\n"
    )
    path.write_text(text, encoding="utf-8", newline="\n")
    assert run_labbook("journal", "check", cwd=sample).code == 0
    marked = run_labbook("journal", "public", "cure-for", cwd=sample)
    assert "2026-04-16-a-cure-for-dry-hands is public" in marked.out
    assert path.read_text("utf-8") == text.replace('public: "no"', 'public: "yes"')
    assert git(sample, "status", "--porcelain", "journal") == ""
    checked = run_labbook("journal", "check", cwd=sample)
    assert checked.code == 1
    assert "journal/2026-04-16-a-cure-for-dry-hands.md:9:1" in checked.out
    assert "there is no version SBC@9" in checked.out
    assert "“It heals eczema.” may be read as a claim" in " ".join(checked.out.split())
    run_labbook("journal", "build", cwd=sample)
    page = (sample / "site/entries/2026-04-16-a-cure-for-dry-hands.html").read_text("utf-8")
    assert "&lt;script&gt;1&lt;/script&gt;" in page
    assert "<script" not in page


def test_a_folder_with_other_things_is_left_alone(
    run_labbook: RunLabbook, sample: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "index.html").write_text("mine", encoding="utf-8")
    refused = run_labbook("journal", "build", "--output", other, cwd=sample)
    assert refused.code != 0
    assert "they are left alone" in " ".join(refused.err.split())
    assert files_of(other) == {"index.html": b"mine"}
    again = run_labbook("journal", "build", "--output", sample, cwd=sample)
    assert again.code != 0


def test_paths_in_a_forged_record_of_the_last_build_are_not_followed(
    run_labbook: RunLabbook, sample: Path
) -> None:
    run_labbook("journal", "build", cwd=sample)
    record = sample / "site/published.json"
    data = json.loads(record.read_text("utf-8"))
    for path in ("../labbook.yaml", "../../outside.md", "/etc/passwd", "a/../../labbook.yaml"):
        data["files"][path] = "0"
    record.write_text(json.dumps(data), encoding="utf-8")
    assert run_labbook("journal", "build", cwd=sample).code == 0
    assert (sample / "labbook.yaml").is_file()


def test_a_notebook_in_which_nothing_is_public(run_labbook: RunLabbook, tmp_path: Path) -> None:
    run_labbook("init", "book", "--name", "Somebody")
    built = run_labbook("journal", "build", cwd=tmp_path / "book")
    assert built.code == 0
    assert "public      nothing yet" in built.out
    page = (tmp_path / "book/site/index.html").read_text("utf-8")
    assert "Nothing is public here yet." in page
