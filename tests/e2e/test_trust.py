"""A notebook's own templates: run only when trusted here, in a sandbox, within limits."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from labbook.journal.publish import published
from labbook.model.errors import Unclear
from labbook.work.bench import Bench
from labbook.work.guarded import must_end
from labbook.work.journal import templates
from labbook.work.journal_book import book_of
from tests.e2e.bench import ended, through_the_door
from tests.e2e.terminal import at_terminal
from tests.notebook.repos import git_says, put, run_git

HOME = "templates/journal/home.md.j2"
MARK = "Written by hand for the studio.\n"


def says(root: Path, *words: str, code: int = 0) -> str:
    ran = ended(through_the_door(*words, cwd=root), code)
    return " ".join((ran.out + ran.err).split())  # a sentence is one, however it is wrapped


def home(root: Path) -> str:
    return (root / "site/markdown/index.md").read_text(encoding="utf-8")


def test_without_trust_the_programs_templates_are_used_and_it_is_said(sample: Path) -> None:
    says(sample, "journal", "build")
    plain = home(sample)
    put(sample, HOME, MARK)
    assert "nobody trusts" in says(sample, "journal", "build")
    assert home(sample) == plain


def test_trusted_templates_run_until_one_changes(sample: Path) -> None:
    put(sample, HOME, MARK)
    shown = says(sample, "trust", "--yes")
    assert HOME in shown and "the program's" in shown
    says(sample, "journal", "build")
    assert MARK.strip() in home(sample)
    put(sample, HOME, MARK + "{{ 7 * 6 }}\n")
    assert "nobody trusts" in says(sample, "journal", "build")
    assert "42" not in home(sample) and MARK.strip() not in home(sample)


def test_trust_asks_and_a_no_is_a_no(sample: Path) -> None:
    put(sample, HOME, MARK)
    refused = ended(at_terminal("trust", cwd=sample, answers=[("run?", "n")])).out
    assert HOME in refused
    assert "nobody trusts" in says(sample, "journal", "build")
    ended(at_terminal("trust", cwd=sample, answers=[("run?", "y")]))
    assert "nobody trusts" not in says(sample, "journal", "build")


def test_where_nobody_can_be_asked_nothing_is_trusted(sample: Path) -> None:
    put(sample, HOME, MARK)
    assert "--yes" in says(sample, "trust", code=2)
    assert "nobody trusts" in says(sample, "journal", "build")


def test_forgotten_templates_run_no_more(sample: Path) -> None:
    put(sample, HOME, MARK)
    says(sample, "trust", "--yes")
    assert "no template" in says(sample, "trust", "--forget")
    assert "nobody trusts" in says(sample, "journal", "build")
    assert "none was" in says(sample, "trust", "--forget")


def test_no_clone_and_no_commit_carries_trust(sample: Path, tmp_path: Path) -> None:
    put(sample, HOME, MARK)
    says(sample, "trust", "--yes")
    run_git(sample, "add", "-A")
    run_git(sample, "commit", "--quiet", "-m", "templates of our own")
    assert "trusted" not in git_says(sample, "ls-files")
    run_git(tmp_path, "clone", "--quiet", str(sample), "clone")
    assert "nobody trusts" in says(tmp_path / "clone", "journal", "build")


def test_a_notebook_without_templates_has_nothing_to_trust(sample: Path) -> None:
    assert "no templates of its own" in says(sample, "trust", code=2)


# What a template can't do -----------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "{{ ''.__class__.__mro__[1].__subclasses__() }}",
        "{{ self.__init__.__globals__ }}",
        "{{ cycler.__init__.__globals__.os.popen('id').read() }}",
        "{% include '/etc/passwd' %}",
        "{% import 'os' as os %}{{ os }}",
        "{{ '%s' % unknown }}",
        "{% for a in b",
    ],
)
def test_a_template_that_reaches_outside_or_is_wrong_ends_in_a_sentence(
    sample: Path, text: str
) -> None:
    before = home(sample)
    put(sample, HOME, text)
    says(sample, "trust", "--yes")
    said = says(sample, "journal", "build", code=2)
    assert "own templates can't be used" in said
    assert "root:" not in said
    assert home(sample) == before


def limited(sample: Path, text: str, **limits: Any) -> str:
    bench = Bench(sample)
    markdown, html = templates()
    with pytest.raises(Unclear) as raised:
        must_end(published(book_of(bench)), ({**markdown, "home.md.j2": text}, html), **limits)
    return raised.value.what


ENDLESS = (
    "{% for a in range(90000) %}{% for b in range(90000) %}{% for c in range(90000) %}"
    "{% endfor %}{% endfor %}{% endfor %}"
)


def test_a_loop_without_end_is_stopped(sample: Path) -> None:
    assert "weren't done after" in limited(sample, ENDLESS, seconds=3)


def test_a_template_that_includes_itself_is_stopped(sample: Path) -> None:
    assert "RecursionError" in limited(sample, "{% include 'home.md.j2' %}")


def test_pages_without_measure_are_stopped(sample: Path) -> None:
    text = "{% for a in range(90000) %}{{ 'x' * 100 }}{% endfor %}"
    assert "more than 1 MB" in limited(sample, text, most_bytes=1_000_000)


def test_memory_without_measure_is_stopped(sample: Path) -> None:
    assert limited(sample, "{{ 'x' * (10 ** 12) }}")
    assert limited(sample, "{{ range(10 ** 9) | list | length }}")


# What is no template ------------------------------------------------------------------------------


def test_a_link_among_the_templates_is_not_followed(sample: Path, tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_text("a secret of this machine", encoding="utf-8")
    (sample / HOME).parent.mkdir(parents=True)
    (sample / HOME).symlink_to(secret)
    assert "no plain file" in says(sample, "trust", code=3)


def test_a_linked_folder_of_templates_is_not_followed(sample: Path, tmp_path: Path) -> None:
    put(tmp_path, "elsewhere/home.md.j2", MARK)
    (sample / "templates").mkdir()
    (sample / "templates/journal").symlink_to(tmp_path / "elsewhere")
    assert "no templates of its own" in says(sample, "trust", code=2)


def test_scripts_are_no_templates_and_are_never_taken(sample: Path) -> None:
    put(sample, "templates/site/search.js", "alert(1)")
    put(sample, HOME, MARK)
    says(sample, "trust", "--yes")
    says(sample, "journal", "build")
    texts = [p.read_text(encoding="utf-8") for p in (sample / "site").rglob("*.html")]
    assert texts and not [text for text in texts if "alert(1)" in text]


def test_the_output_folder_is_left_alone_when_templates_fail(sample: Path) -> None:
    says(sample, "journal", "build")
    before = {p: p.read_bytes() for p in (sample / "site").rglob("*") if p.is_file()}
    put(sample, HOME, "{{ nothing.of.this }}")
    says(sample, "trust", "--yes")
    says(sample, "journal", "build", code=2)
    assert before == {p: p.read_bytes() for p in (sample / "site").rglob("*") if p.is_file()}
    shutil.rmtree(sample / "templates")
    says(sample, "journal", "build")
