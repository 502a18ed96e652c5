"""A notebook in git that is full of secrets: in every field of every kind of file, and beside them.

Private are fields that `labbook.journal.fields` doesn't name, and every field of a private formula,
batch, entry, photo or premix.
"""

import io
import subprocess
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from hashlib import sha256
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from PIL import Image

from labbook.journal.fields import PUBLIC
from labbook.model.batch import Batch
from labbook.model.entry import Entry
from labbook.model.formula import Formula, Line, Phase
from labbook.model.jars import Jars, Stability
from labbook.model.kinds import KINDS
from labbook.model.materials import Ingredient, Part
from labbook.model.photos import Photo, Photos
from labbook.model.reactions import Reactions
from labbook.model.rulebook import RuleBook
from labbook.model.versions import Version
from labbook.notebook.readfile import ReadFile
from labbook.notebook.snapshot import Snapshot
from labbook.work.bench import Bench
from tests.journal.filled import book, filled

DAY = datetime(2026, 4, 16, 12, tzinfo=UTC)
SHOWN, KEPT, UNSHOWN = "SBC-260203-4M", "KEEP-260204-5N", "SBC-260205-6P"
"""A public batch, one of a private formula, and a private one of the public formula."""

PREMIX = "the-premix"
PATHS = {
    **{kind: f"batches/2026/{SHOWN}/{kind}.yaml" for kind in KINDS},
    "notebook": "labbook.yaml",
    "formula": "formulas/SBC.yaml",
    "trial": f"batches/2026/{SHOWN}/formula.yaml",
}
OF_A_BATCH: Mapping[str, type[Any]] = {
    "jars": Jars, "stability": Stability, "photos": Photos, "reactions": Reactions,
}  # fmt: skip
BLOCKS = ("show SBC@2", "show 4m", "diff SBC 1 2", "log SBC", "outcomes SBC", "timeline SBC",
          "timeline 4m", "why 4m", "photos 4m", "trend SBC", "curve SBC", "show KEEP", "show 5n",
          "photos 6p", "log KEEP")  # fmt: skip
SHOW_NOTHING = {"why 4m", "curve SBC", "show KEEP", "show 5n", "photos 6p", "log KEEP"}
"""Blocks for which one batch is too little, and those that ask for what is private."""


class Planted:
    """A notebook in git whose every file, found by walking the kinds, is full of secrets."""

    def __init__(self, root: Path) -> None:
        self.words: dict[tuple[str, str], str] = {}
        self.root = root
        self.pictures: dict[str, bytes] = {}
        records = book(self.secret)
        files = {}
        for kind in KINDS.values():
            path, record = self._record(kind.name, kind.record, records)
            files[path] = ReadFile(path, kind.name, record, ())
        self.versions: dict[str, tuple[Version, ...]] = {
            code: tuple(replace(one, formula=self._with_premix(one.formula)) for one in found)
            for code, found in records.versions.items()
        }
        self._hide(files)
        self.snapshot = Snapshot(root, files)
        self.snapshot.__dict__["rulebook"] = RuleBook()
        text = "\n\n".join(f"```labbook\n{one}\n```" for one in BLOCKS)
        self.entries = (
            *records.entries,
            Entry(path="journal/b.md", name="b", title="Blocks", public="yes", text=text),
            Entry(path="journal/c.md", name="c", title=self.secret("hidden", "title"),
                  text=self.secret("hidden", "text")),
        )  # fmt: skip
        for path, raw in self._beside().items():
            (root / path).parent.mkdir(parents=True, exist_ok=True)
            (root / path).write_bytes(raw)
        self._git("init", "-q", "--template=", "-b", "main")
        self._git("add", ".")
        who = ("-c", f"user.name={self.secret('git', 'name')}")
        mail = ("-c", f"user.email={self.secret('git', 'email')}@example.org")
        self._git(*who, *mail, "commit", "-q", "-m", self.secret("git", "message"))

    # Planting -------------------------------------------------------------------------------------

    def secret(self, record: str, name: str) -> str:
        """A word of its own for each field."""
        return self.words.setdefault((record, name), f"zq{len(self.words):04d}secret")

    def hidden(self, record: str, name: str) -> str:
        """The same for a record that is private whole."""
        return self.secret(f"hidden {record}", name)

    def _record(self, kind: str, record: type[Any], records: Any) -> tuple[str, Any]:
        """The path and the record of a kind: that of the book, or one filled whole."""
        if kind == "ingredient":
            name, sheet = next(iter(records.ingredients.items()))
            return f"ingredients/{name}.yaml", sheet
        if kind == "equipment":
            name, tool = next(iter(records.equipment.items()))
            return f"equipment/{name}.yaml", tool
        found = filled(record, self.secret)
        if kind == "notebook":
            found = replace(found, site_url="https://pots.example/journal")
        if kind == "photos":
            found = replace(found, photos=self._photos(found.photos[0]))
        if kind == "formula":
            found = self._with_premix(found)
        return PATHS[kind], found

    def _with_premix(self, formula: Formula) -> Formula:
        phase = Phase(phase="P", lines=(Line(ingredient=PREMIX, percent=Decimal(3)),))
        return replace(formula, phases=(*formula.phases, phase))

    def _photos(self, photo: Photo) -> tuple[Photo, ...]:
        """One that is public, and others that are private, struck, or carry words along."""
        plain = [_jpeg(number) for number in range(4)]
        told = self.secret("picture", "remark").encode()
        remark = plain[3][:20] + b"\xff\xfe" + bytes((0, len(told) + 2)) + told + plain[3][20:]
        tail = _jpeg(5) + self.secret("picture", "tail").encode()
        found = []
        for number, raw in enumerate((*plain[:3], remark, tail), start=1):
            file = f"2026-02-03-{sha256(raw).hexdigest()[:16]}.jpg"
            self.pictures[file] = raw
            found.append(replace(photo, id=f"p{number}", file=file))
        found[1] = replace(found[1], private=True, caption=self.hidden("Photo", "caption"))
        found[2] = replace(found[2], struck=self.hidden("Photo", "struck"))
        return tuple(found)

    def _hide(self, files: dict[str, ReadFile]) -> None:
        """A formula with a batch, a batch of the public one, sheets and equipment: all private."""
        formula: Formula = filled(Formula, self.hidden)
        formula = replace(formula, code="KEEP", id="f-keep", public="no")
        line = formula.phases[0].lines[0].ingredient
        version: Version = filled(Version, self.hidden)
        self.versions["KEEP"] = (replace(version, code="KEEP", formula=formula),)
        public: Batch = filled(Batch, self.hidden)
        kept = replace(public.formula, code="KEEP", id="f-keep")
        hidden: dict[str, tuple[str, Any]] = {
            "formulas/KEEP.yaml": ("formula", formula),
            f"ingredients/{line}.yaml": (
                "ingredient", replace(filled(Ingredient, self.hidden), id=line)),
            f"ingredients/{PREMIX}.yaml": ("ingredient", Ingredient(
                id=PREMIX, inci="Premix", contains=(Part(ingredient=line),),
                allergens=(Part(ingredient=self.hidden("Part", "allergen")),))),
        }  # fmt: skip
        for id_, keys in ((KEPT, {"formula": kept}), (UNSHOWN, {"public": "no"})):
            hidden[f"batches/2026/{id_}/batch.yaml"] = ("batch", replace(public, id=id_, **keys))
            for kind, record in OF_A_BATCH.items():
                path = f"batches/2026/{id_}/{kind}.yaml"
                hidden[path] = (kind, replace(filled(record, self.hidden), batch=id_))
        files |= {path: ReadFile(path, kind, one, ()) for path, (kind, one) in hidden.items()}

    def _beside(self) -> dict[str, bytes]:
        """Files that are no records."""
        folder = f"batches/2026/{SHOWN}"
        return {
            **{one.path: one.text.encode() for one in self.entries},
            **{f"{folder}/{file}": raw for file, raw in self.pictures.items()},
            "secret.txt": self.secret("file", "text").encode(),
        }

    def _git(self, *words: str, given: bytes = b"") -> bytes:
        return subprocess.run(
            ["git", *words], cwd=self.root, check=True, capture_output=True, input=given
        ).stdout

    def bench(self) -> Bench:
        """A bench whose notebook is this one."""
        bench = Bench(self.root, DAY)
        bench.__dict__["snapshot"] = self.snapshot
        bench.__dict__["history"] = SimpleNamespace(versions=self.versions)
        return bench

    # Looking --------------------------------------------------------------------------------------

    def private(self) -> dict[bytes, str]:
        """Every word, and the dots of every picture, that may be nowhere, with their fields."""
        allowed = {record.__name__: names for record, names in PUBLIC.items()}
        words = {
            word.encode(): f"{record}.{name}"
            for (record, name), word in self.words.items()
            if name.removesuffix(" key") not in allowed.get(record, frozenset())
        }
        _, *private = self.pictures.values()
        return words | {raw[-200:]: f"picture {n}" for n, raw in enumerate(private, start=2)}

    def told(self, raw: bytes) -> list[str]:
        """The fields of what is private and stands there."""
        return [field for word, field in self.private().items() if word in raw]

    def reachable(self) -> bytes:
        """Every object that somebody gets with the branch of pages."""
        listed = self._git("rev-list", "--objects", "--no-object-names", "pages")
        return self._git("cat-file", "--batch", given=listed)


def _jpeg(number: int) -> bytes:
    """A picture without anything but its dots, another one for each number."""
    out = io.BytesIO()
    Image.radial_gradient("L").rotate(10 * number).crop((0, 0, 99, 80)).save(out, "JPEG")
    return out.getvalue()
