"""`journal check` and each build say what becomes public that was not, and what it claims."""

from pathlib import Path

from PIL import Image

from labbook.model.results.telling import JournalState
from labbook.work.journal import check, mark
from labbook.work.photos import note_photos
from labbook.work.site import build, state_in
from tests.work.notebooks import Maker, Small


def news(maker: Maker, site: Path) -> JournalState:
    """What the check says, and the build after it in the same words."""
    before = check(maker.bench, state_in(site))
    built = build(maker.bench, site).state
    assert (before.new, before.changed, before.gone) == (built.new, built.changed, built.gone)
    assert [one.rule for one in before.problems] == [one.rule for one in built.problems]
    return built


def test_sheets_and_photos_are_news_and_their_words_are_looked_at(
    small: Small, tmp_path: Path
) -> None:
    maker, site = Maker(small.root), tmp_path / "site"
    maker.now = maker.now.replace(day=20)
    mark(maker.bench, "HC", public=True, with_batches=True)
    first = news(maker, site)
    assert "ingredient glycerin" in first.new
    assert "ingredient beeswax" in first.new
    assert not news(maker, site).changed

    picture = tmp_path / "a.png"
    Image.new("RGB", (40, 30), "white").save(picture)
    note_photos(maker.bench, small.first, [picture], caption="Antifungal")
    found = news(maker, site)
    assert list(found.changed) == [f"batch {small.first}"]
    assert [one.place.path for one in found.problems if one.rule == "claims-to-treat"] == [
        small.path(small.first)
    ]

    maker.edits("ingredients/glycerin.yaml", "id: ", 'cautions: ["It cures eczema."]\nid: ')
    found = news(maker, site)
    assert list(found.changed) == ["ingredient glycerin"]
    assert "ingredients/glycerin.yaml" in [one.place.path for one in found.problems]

    mark(maker.bench, "HC", public=False)
    assert "ingredient glycerin" in news(maker, site).gone
