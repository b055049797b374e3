"""A lesson as a handout: its pictures and tables, its questions and exercises, and room to write, as a PDF to print.

The notebook is the one source. It is read, not run: headings and prose from its Markdown, and from its code the calls
``panel("name", …)``, ``question(3)`` and ``exercise(3)``, whose arguments must be plain values.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tunelib.exhibits import find_exhibit
from tunelib.export import (
    LOW_VOLUME,
    RINGING,
    Asked,
    Figure,
    Grid,
    Heading,
    Numbers,
    Paragraph,
    Part,
    Quotation,
    Span,
    Task,
    handout_page,
    paper_width,
    read_markdown,
    words_of,
)
from tunelib.files import check_targets, write_whole
from tunelib.pitch import cut, printable
from tunelib.practice.answers import LETTERS, Choice
from tunelib.practice.notebook import calls, cells_of, python_of
from tunelib.practice.steps import exercise, question
from tunelib.show import has_page, picture

ANSWERS = "-answers"
"""How the name of a handout with answers ends."""

_LINES_FOR_LISTENING, _LINES_FOR_AN_ANSWER, _LINES_FOR_A_REASON, _LINES_FOR_A_TRY = 3, 3, 1, 2
_LONGEST_TABLE = 16  # rows: a longer one fills a page of its own, which `tunelib.show.page` prints
_STEP = re.compile(r"Step \d+\b")
_TO_TRY = "Try on your instrument"
_LISTENING = re.compile(r"\b(listen|look|play)\b", re.IGNORECASE)  # in what a task begins with
_CALLS = {"panel": "exhibit", "question": "step", "exercise": "step"}  # and what their one argument is called
_NOT_KNOBS = {"theme", "density"}  # of a panel


def handout(
    notebook: str | Path, path: str | Path, *, paper: str = "a4", answers: bool = False, overwrite: bool = False
) -> Path:
    """Write a lesson as a handout.

    Parameters
    ----------
    notebook : str or Path
        A notebook (.ipynb) in the form of the lessons: steps that begin with a heading such as
        ``## Step 3 · Peaks that meet``.
    path : str or Path
        Ends in .pdf.
    paper : str
        ``"a4"`` or ``"letter"``.
    answers : bool
        Whether the answers are printed, for a teacher, where otherwise there is room to write.
    overwrite : bool
        Whether to replace a file that is there.

    Returns the path. Raises ValueError, which names notebook and cell, for a file that is no notebook, one without
    steps, an exhibit, knob or step that does not exist, and arguments that would have to be worked out; for a page that
    cannot be set; and for another ending or paper. Raises FileNotFoundError if there is no notebook, FileExistsError if
    the handout is there and `overwrite` is false, and ImportError, with what to install, where Typst is missing.
    """
    path = Path(path)
    if path.suffix.lower() != ".pdf":
        raise ValueError(f"a handout is a .pdf file, not {path.name!r}")
    check_targets([path], overwrite)
    return write_whole(path, handout_pdf(notebook, paper, answers), overwrite=overwrite)


def handout_pdf(notebook: str | Path, paper: str = "a4", answers: bool = False) -> bytes:
    """The same handout as the bytes of a PDF file; parameters and errors as for `handout`."""
    paper_width(paper)  # refuses one that is not known
    title, parts = _parts(Path(notebook), answers)
    try:
        return handout_page(f"{title}: answers" if answers else title, parts, paper)
    except ValueError as error:
        raise ValueError(f"{notebook}: {error}") from None


def _parts(notebook: Path, answers: bool) -> tuple[str, list[Part]]:
    """The title of a lesson, and what its handout is made of."""
    cells = list(cells_of(notebook, "a handout"))
    followed = [list(_calls(cell.source, cell.where)) if cell.kind == "code" else [] for cell in cells]
    panels = [any(name == "panel" for name, _ in found) for found in followed]
    title, section, in_step, stepped, cautioned = "", "", False, False, False
    parts: list[Part] = []
    for number, cell in enumerate(cells):
        if in_step:
            for name, arguments in followed[number]:
                parts += _called(name, arguments, cell.where, answers)
        tasks = []
        for block in read_markdown(printable(cell.source)) if cell.kind == "markdown" else ():
            heading = words_of(block.spans).strip() if isinstance(block, Heading) else ""
            is_step = _STEP.match(heading) is not None
            if isinstance(block, Heading) and block.level == 1 and not (title or stepped or is_step):
                title = heading
            elif isinstance(block, Heading) and block.level <= 2:
                if section == _TO_TRY and not answers:
                    parts.append(Task((), _LINES_FOR_A_TRY))
                section, in_step = heading, is_step
                if in_step and not stepped and not cautioned:
                    parts.append(_CAUTION)
                stepped = stepped or in_step
                parts.append(block)
            elif not in_step or isinstance(block, (Heading, Grid, Quotation)):
                cautioned = cautioned or isinstance(block, Quotation)
                parts.append(block)
            elif isinstance(block, Paragraph) and block.lead and any(panels[max(0, number - 1) : number + 2]):
                tasks.append(block)
        if tasks:
            heard = not answers and any(_LISTENING.search(block.lead) for block in tasks)
            parts.append(Task(tuple(block.spans for block in tasks), _LINES_FOR_LISTENING if heard else 0))
    if not stepped:
        raise ValueError(
            f"{notebook} has no steps to make a handout of; a step begins with a heading such as "
            "## Step 3 · Peaks that meet"
        )
    return title or printable(notebook.stem) or "Handout", parts


_CAUTION = Quotation(((Span("Mind your ears.", strong=True), Span(f" {LOW_VOLUME} {RINGING}")),))


def _called(name: str, arguments: dict[str, Any], where: str, answers: bool) -> list[Part]:
    """What a call puts on the handout."""
    try:
        if name == "panel":
            return _exhibited(**arguments)
        return [_question(answers, **arguments) if name == "question" else _exercise(answers, **arguments)]
    except ValueError as error:
        raise ValueError(f"{where}: {error}") from None
    except TypeError:
        raise ValueError(f"{where}: {name}() takes one {_CALLS[name]}, such as {_EXAMPLES[name]}") from None


_EXAMPLES = {"panel": 'panel("wave")', "question": "question(3)", "exercise": "exercise(3)"}


def _exhibited(exhibit: str, **knobs: Any) -> list[Part]:
    """An exhibit's picture with its sentence, and its table if it has a short one."""
    shown = find_exhibit(exhibit)
    values = shown.settle({knob: value for knob, value in knobs.items() if knob not in _NOT_KNOBS})
    svg = picture(shown, "svg", size="print", **values).decode()
    parts: list[Part] = [Figure(svg, shown.sentence(**values))]
    if has_page(shown):
        printed = shown.printed(**values)
        if len(printed.rows) <= _LONGEST_TABLE:
            parts.append(Numbers(printed.table_title, printed.head, printed.rows))
    return parts


def _question(answers: bool, step: int) -> Asked:
    asked = question(step)
    given = _chosen("Answer.", asked.answer) if answers else ()
    return Asked(
        "Question.",
        asked.prompt,
        asked.answer.lettered,
        0 if answers else _LINES_FOR_A_REASON,
        asked.answer.right if answers else None,
        given,
    )


def _exercise(answers: bool, step: int) -> Asked:
    asked = exercise(step)
    choice = asked.answer if isinstance(asked.answer, Choice) else None
    given = (("Hint.", asked.hint), ("Worked answer.", asked.worked)) if answers else ()
    return Asked(
        "Exercise.",
        "\n\n".join(asked.asked),
        choice.lettered if choice else (),
        0 if answers else _LINES_FOR_AN_ANSWER,
        choice.right if choice and answers else None,
        given,
    )


def _chosen(title: str, choice: Choice) -> tuple[tuple[str, str], ...]:
    """Which choice is right, and what is said to each."""
    said = [f"{letter}: {words}" for letter, words in zip(LETTERS, choice.responses, strict=False)]
    return ((title, "\n\n".join([f"It is {LETTERS[choice.right]}.", *said])),)


def _calls(source: str, where: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """The calls in a code cell that a handout follows, in their order: name, and arguments by name."""
    for call in calls(python_of(source, where), {name: (argument,) for name, argument in _CALLS.items()}):
        if call.arguments is None:
            raise ValueError(
                f"{where}: {cut(ast.unparse(call.node))} cannot be printed: a handout runs nothing, so each argument "
                f"must be a plain value, as in {_EXAMPLES[call.name]}"
            )
        yield call.name, call.arguments
