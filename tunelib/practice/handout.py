"""A lesson as a handout: its pictures and tables, its questions and exercises, and room to write, as a PDF to print.

The notebook is the one source. It is read, not run: headings and prose from its Markdown, and from its code the calls
``panel("name", …)``, ``question(3)`` and ``exercise(3)``, whose arguments must be plain values. A learner's copy has
what gives an answer away on a later page (see `guessed_first`); a teacher's keeps to the order of the lesson.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, TypeAlias

from tunelib.exhibits import find_exhibit
from tunelib.export import (
    LOW_VOLUME,
    RINGING,
    Asked,
    Block,
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
from tunelib.files import FileSet, check_targets, write_whole
from tunelib.pitch import cut, listed, printable
from tunelib.practice.answers import LETTERS, Choice
from tunelib.practice.exercise import Exercise, Question
from tunelib.practice.guessed_first import STEP, guesses_first
from tunelib.practice.notebook import calls, cells_of, python_of
from tunelib.practice.steps import exercise, question
from tunelib.show import has_page, picture

ANSWERS = "-answers"
"""How the name of a handout with answers ends."""

_LINES_FOR_LISTENING, _LINES_FOR_AN_ANSWER, _LINES_FOR_A_REASON, _LINES_FOR_A_TRY = 3, 3, 1, 2
_LONGEST_TABLE = 16  # rows: a longer one fills a page of its own, which `tunelib.show.page` prints
_TO_TRY = "Try on your instrument"
_LISTENING = re.compile(r"\b(listen|look|play)\b", re.IGNORECASE)  # in what a task begins with
_CALLS = {"panel": ("exhibit",), "question": ("step",), "exercise": ("step", "numbers")}  # with their arguments
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
    paper_width(paper)  # refuses one that is not known
    return write_whole(path, _pdf(_read(Path(notebook)), paper, answers), overwrite=overwrite)


def handout_files(notebooks: Sequence[str | Path], paper: str = "a4", answers: bool = False) -> FileSet:
    """The handouts of some lessons, to be written by `tunelib.files.write_set`: parameters as for `handout`.

    A handout has the name of its notebook, and with answers also that of `ANSWERS`. All notebooks are read before
    anything is printed. Raises what `handout` raises, and ValueError for two notebooks of one name.
    """
    paper_width(paper)  # refuses one that is not known
    lessons = [_read(Path(notebook)) for notebook in notebooks]
    names = [f"{lesson.path.stem}{ANSWERS if answers else ''}.pdf" for lesson in lessons]
    alike = [name.casefold() for name in names]  # on many systems a.pdf and A.pdf are one file
    if twice := next((name for name in names if alike.count(name.casefold()) > 1), None):
        raise ValueError(f"two of these lessons would both be written to {twice}; print them into separate folders")
    printed = [partial(_pdf, lesson, paper, answers) for lesson in lessons]
    return FileSet.of(dict(zip(names, printed, strict=True)))


_Printed: TypeAlias = Callable[[bool], list[Part]]
"""What a call puts on a handout, by whether answers are printed."""


@dataclass(frozen=True)
class _Followed:
    """A cell as a handout follows it: what its Markdown says, what its calls print, and whether it has a panel."""

    blocks: tuple[Block, ...]
    calls: tuple[_Printed, ...]
    has_panel: bool


@dataclass(frozen=True)
class _Lesson:
    """A notebook that has been read."""

    path: Path
    cells: tuple[_Followed, ...]


def _read(notebook: Path) -> _Lesson:
    """A notebook with steps. Raises as `handout` does for what it is or lacks, and for what it calls in its steps."""
    cells, in_step, stepped = [], False, False
    for cell in cells_of(notebook, "a handout"):
        blocks = tuple(read_markdown(printable(cell.source))) if cell.kind == "markdown" else ()
        found = list(_calls(cell.source, cell.where)) if cell.kind == "code" else []
        followed = tuple(_called(name, arguments, cell.where) for name, arguments in found) if in_step else ()
        cells.append(_Followed(blocks, followed, any(name == "panel" for name, _ in found)))
        for block in blocks:
            if isinstance(block, Heading) and block.level <= 2:
                in_step = _begins_step(block)
                stepped = stepped or in_step
    if not stepped:
        raise ValueError(
            f"{notebook} has no steps to make a handout of; a step begins with a heading such as "
            "## Step 3 · Peaks that meet"
        )
    return _Lesson(notebook, tuple(cells))


def _begins_step(block: Block) -> bool:
    return isinstance(block, Heading) and block.level <= 2 and STEP.match(_title(block)) is not None


def _title(heading: Heading) -> str:
    return words_of(heading.spans).strip()


def _pdf(lesson: _Lesson, paper: str, answers: bool) -> bytes:
    """A handout as the bytes of a PDF file."""
    title, parts = _parts(lesson, answers)
    try:
        return handout_page(f"{title}: answers" if answers else title, parts, paper)
    except ValueError as error:
        raise ValueError(f"{lesson.path}: {error}") from None


def _parts(lesson: _Lesson, answers: bool) -> tuple[str, list[Part]]:
    """The title of a lesson, and what its handout is made of."""
    panels = [cell.has_panel for cell in lesson.cells]
    title, section, in_step, stepped, cautioned = "", "", False, False, False
    parts: list[Part] = []
    for number, cell in enumerate(lesson.cells):
        for printed in cell.calls:
            parts += printed(answers)
        tasks = []
        for block in cell.blocks:
            is_step = _begins_step(block)
            if isinstance(block, Heading) and block.level == 1 and not (title or stepped or is_step):
                title = _title(block)
            elif isinstance(block, Heading) and block.level <= 2:
                if section == _TO_TRY and not answers:
                    parts.append(Task((), _LINES_FOR_A_TRY))
                section, in_step = _title(block), is_step
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
    return title or printable(lesson.path.stem) or "Handout", parts if answers else guesses_first(parts)


_CAUTION = Quotation(((Span("Mind your ears.", strong=True), Span(f" {LOW_VOLUME} {RINGING}")),))


def _called(name: str, arguments: dict[str, Any], where: str) -> _Printed:
    """What a call puts on the handout. Whatever is wrong with it is said here, before anything is printed."""
    try:
        if name == "panel":
            return _exhibited(**arguments)
        return _question(**arguments) if name == "question" else _exercise(**arguments)
    except ValueError as error:
        raise ValueError(f"{where}: {error}") from None
    except TypeError:
        raise ValueError(f"{where}: {name}() takes one {_CALLS[name][0]}, such as {_EXAMPLES[name]}") from None


_EXAMPLES = {"panel": 'panel("wave")', "question": "question(3)", "exercise": "exercise(3)"}


def _exhibited(exhibit: str, **knobs: Any) -> _Printed:
    """An exhibit's picture with its sentence, and its table if it has a short one."""
    shown = find_exhibit(exhibit)
    values = shown.settle({knob: value for knob, value in knobs.items() if knob not in _NOT_KNOBS})

    def parts(answers: bool) -> list[Part]:
        svg = picture(shown, "svg", size="print", **values).decode()
        drawn: list[Part] = [Figure(svg, shown.sentence(**values))]
        printed = shown.printed(**values) if has_page(shown) else None
        if printed and len(printed.rows) <= _LONGEST_TABLE:
            drawn.append(Numbers(printed.table_title, printed.head, printed.rows))
        return drawn

    return parts


def _question(step: int) -> _Printed:
    asked = question(step)
    choice = asked.answer if isinstance(asked.answer, Choice) else None
    given = _chosen("Answer.", choice) if choice else tuple((f"{title}.", words) for title, words in asked.folds())
    return _asked(asked, _LINES_FOR_A_REASON, given)


def _exercise(step: int, numbers: bool = False) -> _Printed:
    asked = exercise(step, numbers)
    return _asked(asked, _LINES_FOR_AN_ANSWER, (("Hint.", asked.hint), ("Worked answer.", asked.worked)))


def _asked(asked: Question | Exercise, lines: int, given: tuple[tuple[str, str], ...]) -> _Printed:
    """What is asked, with so many lines to write on; or, in their place, what is given as its answer."""
    choice = asked.answer if isinstance(asked.answer, Choice) else None
    return lambda answers: [
        Asked(
            asked.title,
            _on_paper(asked),
            choice.lettered if choice else (),
            0 if answers else lines,
            choice.right if choice and answers else None,
            given if answers else (),
        )
    ]


def _on_paper(asked: Question | Exercise) -> str:
    """What is asked, and what the room is played first."""
    heard = f"To be played first: {listed(sound.name for sound in asked.sounds)}." if asked.sounds else ""
    return "\n\n".join(filter(None, (*asked.asked, heard)))


def _chosen(title: str, choice: Choice) -> tuple[tuple[str, str], ...]:
    """Which choice is right, and what is said to each."""
    said = [f"{letter}: {words}" for letter, words in zip(LETTERS, choice.responses, strict=False)]
    return ((title, "\n\n".join([f"It is {LETTERS[choice.right]}.", *said])),)


def _calls(source: str, where: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """The calls in a code cell that a handout follows, in their order: name, and arguments by name."""
    for call in calls(python_of(source, where), _CALLS):
        if call.arguments is None:
            raise ValueError(
                f"{where}: {cut(ast.unparse(call.node))} cannot be printed: a handout runs nothing, so each argument "
                f"must be a plain value, as in {_EXAMPLES[call.name]}"
            )
        yield call.name, call.arguments
