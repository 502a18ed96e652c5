"""Live blocks of an entry: fenced code with the info string `labbook`, its text the command.

    ```labbook
    diff SBC 2 3
    ```

Each is rendered from the same results as the command's screen, over public records alone. What
can't be shown is a box in its place that says why, and a finding of `journal check`.
"""

from __future__ import annotations

import shlex
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass

from labbook.evidence.curves import SEPARATION
from labbook.evidence.failure import GROUPS
from labbook.evidence.statistics.refusal import Refusal
from labbook.journal import making, views
from labbook.journal.commonmark import parser
from labbook.journal.html import BROKEN
from labbook.journal.ingredients import Uses
from labbook.journal.markdown import Md, Templates, free, md
from labbook.journal.photos import rows_of
from labbook.journal.pictures import Pictures
from labbook.journal.publish import PublicBatch, PublicFormula
from labbook.journal.teller import Teller
from labbook.model.errors import LabbookError
from labbook.model.ids import matching_batches
from labbook.model.versions import Version

INFO = "labbook"
COMMANDS = ("show SBC@3", "show 9t", "diff SBC 2 3", "diff 9t 4m", "log SBC", "outcomes SBC",
            "why 9t", "timeline 7k", "timeline SBC", "curve SBC", "trend SBC pH", "photos 7k",
            "photos 7k.1")  # fmt: skip
"""What a block may say, by example."""


class Broken(LabbookError):
    """A block that can't be shown."""


@dataclass(frozen=True)
class BrokenBlock:
    """A block that can't be shown: its line in the entry's text, what it says, and why not."""

    line: int
    command: str
    why: str


def _fences(normal: str) -> list[tuple[tuple[int, int], int, str]]:
    """The blocks of a text: first line and the one after the last, how deep inside, the command."""
    return [
        ((token.map[0], token.map[1]), token.level, " ".join(token.content.split()))
        for token in parser().parse(normal)
        if token.type == "fence" and token.info.strip() == INFO and token.map is not None
    ]


def codes_named(
    text: str, codes: Collection[str], code_of: Mapping[str, str]
) -> frozenset[str] | None:
    """The formulas that the blocks of an entry can show something of; None where it has no block.

    Args:
        text: the maker's Markdown.
        codes: of all public formulas.
        code_of: the code for each public batch by its full id.
    """
    if INFO not in text:
        return None
    commands = [command for _, _, command in _fences(str(free(text)))]
    found: set[str] = set()
    for words in map(_words, commands):
        if words[:1] == ["why"]:
            return frozenset(codes)
        for word in words:
            name = word.partition(".")[0]
            code = name.partition("@")[0].upper()
            found |= {code} if code in codes else set()
            found |= {code_of[id_] for id_ in matching_batches(name, code_of)}
    return frozenset(found) if commands else None


def _words(command: str) -> list[str]:
    try:
        words = shlex.split(command)
    except ValueError:  # a quotation mark is open
        return []
    return words[1:] if words[:1] == [INFO] else words


class Blocks:
    """Renders the blocks of entries over one journal."""

    def __init__(
        self,
        teller: Teller,
        templates: Templates,
        pictures: Pictures | None = None,
        uses: Uses | None = None,
    ) -> None:
        self._teller = teller
        self._uses = uses or Uses(teller.journal.sheets)
        self._pictures = pictures or Pictures(teller)
        self._templates = templates

    def filled(self, text: str, up: str) -> tuple[Md, list[BrokenBlock]]:
        """An entry's text with each block in place of its command, and those that are broken.

        Args:
            text: the maker's Markdown.
            up: the way from the page to the top of the site, like `../`.
        """
        normal = str(free(text))
        lines = normal.split("\n")
        broken: list[BrokenBlock] = []
        for (start, end), level, command in reversed(_fences(normal)):
            try:
                if level:
                    raise Broken("it stands inside a list or a quotation; begin it at the margin.")
                shown = self._run(command, up)
            except Broken as error:
                broken.append(BrokenBlock(start + 1, command, error.what))
                shown = Md(f"> **{BROKEN}** {md(command)}: {md(error.what)}")
            if not level:
                lines[start:end] = ["", *shown.strip("\n").split("\n"), ""]
        return Md("\n".join(lines)), broken[::-1]

    def _run(self, command: str, up: str) -> Md:
        words = _words(command)
        if command and not words:
            raise Broken("a quotation mark is open in it.")
        known: dict[str, Callable[[list[str], str], Md]] = {
            "show": self._show,
            "diff": self._diff,
            "log": self._log,
            "outcomes": self._outcomes,
            "why": self._why,
            "timeline": self._timeline,
            "photos": self._photos,
            "curve": self._curve,
            "trend": self._trend,
        }
        if not words or words[0] not in known:
            raise Broken(f"a block may say: {', '.join(COMMANDS)}.")
        return known[words[0]](words[1:], up)

    # Commands -------------------------------------------------------------------------------------

    def _show(self, words: list[str], up: str) -> Md:
        if len(words) != 1:
            raise Broken("show takes one name, like SBC@3 or 9t.")
        made = self._batch(words[0])
        if made is not None:
            view = making.batch_view(self._teller, made)
            return self._templates.render("block-batch.md.j2", batch=view, up=up)
        _, version = self._version(words[0])
        view = views.content_view(self._teller, version.formula, self._uses.path_of)
        named = views.version_view(self._teller, self._formula(version.code), version)
        return self._templates.render("block-version.md.j2", content=view, version=named, up=up)

    def _diff(self, words: list[str], up: str) -> Md:
        if len(words) == 2:
            a, b = self._batch(words[0]), self._batch(words[1])
            if a is not None and b is not None:
                view = views.batches_view(self._teller, a, b)
                return self._templates.render("block-batches.md.j2", diff=view, up=up)
            if words[1].isascii() and words[1].isdigit():
                words = [words[0], words[1]]
                words[1] = f"{words[0].partition('@')[0]}@{words[1]}"
        elif len(words) == 3:
            code, *numbers = words
            words = [n if "@" in n else f"{code}@{n}" for n in numbers]
        if len(words) != 2:
            raise Broken("diff takes two versions or two batches, like: diff SBC 2 3, diff 9t 4m.")
        (one, first), (other, second) = (self._version(word) for word in words)
        found = views.difference_view(self._teller.difference(first, second))
        named = [
            views.version_view(self._teller, one, first),
            views.version_view(self._teller, other, second),
        ]
        return self._templates.render("block-diff.md.j2", diff=found, versions=named, up=up)

    def _log(self, words: list[str], up: str) -> Md:
        formula = self._formula(self._only(words, "log"))
        story = [
            views.version_view(self._teller, formula, version)
            for version in reversed(formula.versions)
        ]
        return self._templates.render("block-log.md.j2", story=story, up=up)

    def _outcomes(self, words: list[str], up: str) -> Md:
        formula = self._formula(self._only(words, "outcomes"))
        view = views.outcome_view(self._teller, formula)
        if not view["rows"]:
            raise Broken(f"no batch of {formula.formula.code} is public.")
        return self._templates.render("outcomes.md.j2", outcomes=view, up=up)

    def _why(self, words: list[str], up: str) -> Md:
        from labbook.journal import asking  # all that reckons causes, which few journals show

        if not 0 < len(words) < 3:
            raise Broken("why takes a failed batch, and a good one if you like: why 9t 4m.")
        named = [self._batch(word) for word in words]
        batches = [one for one in named if one is not None]
        if len(batches) < len(words):
            raise Broken("why takes batches, like: why 9t, why 9t 4m.")
        first, *second = batches
        if not second and first.batch.asks:
            view = asking.lesson_view(self._teller, first)
            if view is not None:
                return self._templates.render("block-lesson.md.j2", lesson=view, up=up)
        try:
            found = asking.why_view(
                self._teller, first.batch.id, second[0].batch.id if second else ""
            )
        except LabbookError as error:
            raise Broken(error.what) from error
        return self._templates.render("block-why.md.j2", why=found, up=up)

    def _timeline(self, words: list[str], up: str) -> Md:
        if not words:
            raise Broken("timeline takes a batch or a code, like: timeline 7k, timeline SBC.")
        made = self._batch(words[0]) if len(words) == 1 else None
        if made is not None:
            shown = self._pictures.batch_block(made, up)
        else:
            formula = self._formula(words[0])
            shown = self._pictures.formula_block(formula, up, " ".join(words[1:]))
            if shown and (hidden := views.hidden_words(sum(formula.hidden.values()))):
                shown = Md(f"{shown}\n{hidden}.\n")
        if not shown:
            raise Broken(f"nobody has looked at a jar of {' '.join(words)} yet.")
        return shown

    def _photos(self, words: list[str], up: str) -> Md:
        if len(words) != 1:
            raise Broken("photos takes a batch or a jar, like: photos 7k, photos 7k.1.")
        name, _, jar = words[0].partition(".")
        made = self._batch(name)
        if made is None:
            raise Broken("photos takes a batch or a jar, like: photos 7k, photos 7k.1.")
        rows = rows_of(made, up, jar)
        if not rows:
            raise Broken(f"no photo of {words[0].upper()} is public.")
        line = views.batch_line(self._teller, made)
        return self._templates.render("block-photos.md.j2", batch=line, photos=rows, up=up)

    def _trend(self, words: list[str], up: str) -> Md:
        if not words:
            raise Broken("trend takes a code, like: trend SBC, trend SBC pH, trend SBC pH room.")
        formula = self._formula(words[0])
        reading, condition = words[1] if len(words) > 1 else "", " ".join(words[2:])
        try:
            shown = self._pictures.trend_block(formula, up, reading=reading, condition=condition)
        except LabbookError as error:
            raise Broken(error.what) from error
        if not shown:
            raise Broken(f"no public jar of {formula.formula.code} has a reading.")
        hidden = views.hidden_words(sum(formula.hidden.values()))
        return Md(f"{shown}\n{hidden}.\n") if hidden else shown

    def _curve(self, words: list[str], up: str) -> Md:
        if not words:
            raise Broken(
                "curve takes a code, like: curve SBC, curve SBC 40 °C, curve SBC structure."
            )
        formula = self._formula(words[0])
        group = words[-1] if len(words) > 1 and words[-1] in GROUPS else ""
        condition = " ".join(words[1 : len(words) - bool(group)])
        shown = self._pictures.curve_block(
            formula, up, condition=condition, group=group or SEPARATION
        )
        if isinstance(shown, Refusal):
            raise Broken(f"public {shown.why}")
        hidden = views.hidden_words(sum(formula.hidden.values()))
        return Md(f"{shown}\n{hidden}.\n") if hidden else shown

    # Names ----------------------------------------------------------------------------------------

    @staticmethod
    def _only(words: list[str], command: str) -> str:
        if len(words) != 1:
            raise Broken(f"{command} takes one code, like: {command} SBC.")
        return words[0]

    def _formula(self, typed: str) -> PublicFormula:
        found = self._teller.journal.formula(typed)
        if found is None:
            raise Broken(f"there is no public formula {typed.upper()}.")
        return found

    def _version(self, typed: str) -> tuple[PublicFormula, Version]:
        code, at, number = typed.partition("@")
        formula = self._formula(code)
        if not formula.versions:
            raise Broken(f"{formula.formula.code} has no version yet; labbook save gives it one.")
        if not at:
            return formula, formula.versions[-1]
        for version in formula.versions:
            if number == str(version.number):
                return formula, version
        raise Broken(f"there is no version {formula.formula.code}@{number}.")

    def _batch(self, typed: str) -> PublicBatch | None:
        """The public batch that a name means; None for what is no batch's name."""
        if "@" in typed or self._teller.journal.formula(typed) is not None:
            return None
        by_id = {one.batch.id: one for one in self._teller.batches}
        found = matching_batches(typed, by_id)
        if len(found) > 1:
            raise Broken(f"{typed.upper()} is the ending of {len(found)} batches; write one out.")
        if found:
            return by_id[found[0]]
        if len(typed) == 2 or typed.count("-") == 2:
            raise Broken(f"there is no public batch {typed.upper()}.")
        return None
