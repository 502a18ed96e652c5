"""`formula new`, `formula list`, `show HC`."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from labbook.model.errors import NotAllowed, Unclear, UnknownName
from labbook.model.fields import QS
from labbook.model.formula import EMULSIONS, Formula
from labbook.model.ids import BATCH_ID, CODE, new_permanent_id
from labbook.model.results.common import FormulaState
from labbook.model.results.formulas import FormulaShown, FormulaWritten, ShownLine
from labbook.trade.composition import Composition, ResolvedLine, resolve
from labbook.trade.exact import decimal_text
from labbook.trade.figures import figures
from labbook.work.batches import labels
from labbook.work.bench import Bench
from labbook.work.draft import Draft
from labbook.work.figures import not_known, shown_figures
from labbook.work.starters import copy_starters, formula_template
from labbook.work.states import Content, content_of, state_of, states_of


def new_formula(
    bench: Bench, typed: str, *, title: str = "", emulsion: str = "", parent: str = ""
) -> FormulaWritten:
    """Writes a new formula: a starter of an emulsion type, or the content of another version.

    Raises:
        Unclear: the code is no code, or the emulsion type isn't one.
        NotAllowed: the code is taken, or reads like the ending of a batch.
    """
    code = new_code(typed)
    text, title = _start_text(bench, code, title, emulsion, parent)
    return write_formula(bench, code, title, text, parent=parent, message=f"Start {code}: {title}")


def new_code(typed: str) -> str:
    """A code for a new formula, in capitals.

    Raises:
        Unclear: it is no code.
        NotAllowed: it reads like the ending of a batch.
    """
    code = typed.upper()
    if not CODE.fullmatch(code):
        raise Unclear(
            f"{typed} is no code.",
            mend="A code has 2 to 6 letters or digits, a letter first: labbook formula new HC",
        )
    if BATCH_ID.fullmatch(f"AA-000000-{code}"):
        raise NotAllowed(f"{code} reads like the ending of a batch.", mend="Take another code.")
    return code


def write_formula(
    bench: Bench,
    code: str,
    title: str,
    text: str,
    *,
    parent: str = "",
    message: str,
    command: str = "formula new",
) -> FormulaWritten:
    """Writes the file of a new formula, with the starter sheets that its lines need: one commit.

    Raises:
        NotAllowed: the code is taken.
    """

    def plan() -> Any:
        from labbook.notebook.snapshot import read_bytes

        fresh = bench.afresh()
        draft = Draft(bench.root)
        path = bench.formula_path(code)
        if draft.exists(path):
            raise NotAllowed(
                f"{code} is there already.", where=path, mend=f"See it: labbook show {code}"
            )
        draft.create(path, text)
        held = read_bytes(path, text.encode("utf-8"))
        names = [line.ingredient for _, line in held.record.lines] if held.record else []
        copied, unknown = copy_starters(draft, names, fresh.snapshot.sheets)
        result = FormulaWritten(
            code=code,
            path=path,
            title=title,
            parent=parent or None,
            sheets=tuple(copied),
            unknown=tuple(unknown),
        )
        return draft.plan(message, result)

    result: FormulaWritten = bench.record(plan, command=command).result
    return result


def _start_text(bench: Bench, code: str, title: str, emulsion: str, parent: str) -> tuple[str, str]:
    from labbook.notebook import edit

    id_ = new_permanent_id("f", bench.random)
    if parent:
        from labbook.work.save import text_of

        content = content_of(bench, parent)
        if "@" in parent:
            text = text_of(bench, parent, content)
        else:
            from labbook.notebook.nodes import decode

            path = bench.formula_path(content.formula.code)
            text = decode((bench.root / path).read_bytes(), path)
        title = title or content.formula.title
        text = edit.put(text, ("code",), code)
        text = edit.put(text, ("title",), title)
        text = edit.put(text, ("id",), id_)
        text = edit.put(text, ("from",), content.name)
        if content.formula.version:
            text = edit.remove(text, ("version",))
        return text, title
    if emulsion not in EMULSIONS:
        some = ", ".join(e for e in EMULSIONS if formula_template(e))
        raise Unclear(
            f"{emulsion or 'Which kind'} is not an emulsion type with a starter."
            if emulsion
            else f"Which kind of formula is {code}?",
            mend=f"labbook formula new {code} --type KIND, with one of: {some}",
        )
    template = formula_template(emulsion)
    if template is None:
        some = ", ".join(e for e in EMULSIONS if formula_template(e))
        raise UnknownName(f"There is no starter for {emulsion}.", mend=f"There are: {some}")
    title = title or f"New {emulsion} formula"
    text = edit.put(template, ("code",), code)
    text = edit.put(text, ("title",), title)
    return edit.put(text, ("id",), id_), title


def list_formulas(bench: Bench) -> tuple[FormulaState, ...]:
    """All formulas with where they stand."""
    return states_of(bench)


def _shown(line: ResolvedLine, formula: Formula, bench: Bench, mass: str = "") -> ShownLine:
    typed = formula.lines[line.index][1]
    sheet = bench.snapshot.sheets.find(line.ingredient)
    percent = "" if line.percent is None else decimal_text(line.percent, line.typed)
    return ShownLine(
        phase=line.phase,
        ingredient=line.ingredient,
        title=(sheet.title or "") if sheet else "",
        percent=percent,
        qs=typed.percent is QS,
        adjust=line.adjust or "",
        role=line.role or (line.functions[0] if line.functions else ""),
        known=line.known,
        mass=mass,
        note=typed.note or "",
    )


def _totals(composition: Composition, formula: Formula) -> tuple[tuple[str, str, str], ...]:
    names = {phase.phase: phase.name or "" for phase in formula.phases}
    return tuple(
        (
            total.phase,
            names.get(total.phase, ""),
            "" if total.percent is None else decimal_text(total.percent),
        )
        for total in composition.phase_totals()
    )


def show_formula(bench: Bench, typed: str) -> FormulaShown:
    """A formula content: its lines by phase, totals, method, standing and batches."""
    content = content_of(bench, typed)
    return shown(bench, content)


def shown(bench: Bench, content: Content) -> FormulaShown:
    """The view of a content; batches are those of its version, or of the formula."""
    formula = content.formula
    composition = resolve(formula, bench.snapshot.sheets)
    total = composition.total + (composition.qs_percent or Fraction())
    state = state_of(bench, formula.code) if formula.code in bench.snapshot.formulas else None
    number = content.version.number if content.version else None
    held = bench.snapshot.files.get(bench.formula_path(formula.code))
    follows = figures(formula, composition, bench.snapshot.sheets)
    return FormulaShown(
        name=content.name,
        when=content.when,
        formula=formula,
        state=state,
        lines=tuple(_shown(line, formula, bench) for line in composition.lines),
        phase_totals=_totals(composition, formula),
        total=decimal_text(total),
        water_phase=composition.water().phase,
        findings=tuple(problem.what for problem in composition.problems),
        batches=labels(bench, formula_id=formula.id, number=number),
        problems=held.problems if held and content.when == "today" else (),
        figures=shown_figures(follows),
        not_known=not_known(follows),
    )
