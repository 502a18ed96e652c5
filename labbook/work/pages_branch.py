"""`journal build --branch`: the pages as a branch of their own, which holds nothing else.

The pages are kept beside git's own files, never in the work tree; what was published last is read
from the branch itself.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from labbook.journal import state
from labbook.model.results.telling import Built
from labbook.notebook import gitpages
from labbook.notebook.git import must_stand
from labbook.notebook.lock import locked
from labbook.work.bench import Bench
from labbook.work.site import build, last_published


def build_branch(bench: Bench, name: str, since: Path | None = None) -> Built:
    """Writes the pages and commits them to a branch, which begins without any parent.

    Args:
        bench: the notebook.
        name: the branch.
        since: the file with what was published last; that of the branch, if left out.

    Raises:
        NotAllowed: the branch is checked out, or is none of ours.
        GitRefused: git declined; the branch is as it was.
    """
    home = must_stand(bench.root).common / "labbook"
    with locked(home, bench.tell):
        branch = gitpages.pages_branch(bench.root, name)
        before = state.read(gitpages.page_at(bench.root, branch, state.FILE))
        folder = home / "pages" / gitpages.folder_name(branch)
        built = build(bench, folder, last_published(since) if since else before)
        kept = state.read((folder / state.FILE).read_bytes())
        files = {path: folder / path for path in (state.FILE, *kept.files)}
        commit = gitpages.commit_pages(bench.root, branch, files, bench.now)
    return replace(built, folder="", index="", branch=name, commit=commit or "")
