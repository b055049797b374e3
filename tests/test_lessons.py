"""The lessons as they are stored: what a reader without a kernel finds, and whether words and numbers are right.

Each rule is a plain function from a notebook to a list of faults. Every rule is tried on a good notebook and on one
that breaks it, so that none of them can fall silent; then all of them are held against every stored lesson. (That
outputs are current, cell by cell, is checked by nbval in the same test run.)
"""

from __future__ import annotations

import argparse
import ast
import re
import shlex
from collections.abc import Callable
from pathlib import Path
from typing import Any

import nbformat
import numpy as np
import pytest
import renew_lessons
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from tunelib import course
from tunelib.commands.line import COMMANDS
from tunelib.exhibits import find_exhibit
from tunelib.export import LOW_VOLUME, RINGING
from tunelib.practice import question
from tunelib.practice.exercise_file import read_exercise

LESSONS = Path(__file__).resolve().parent.parent / "lessons"
STORED = sorted(LESSONS.glob("*.ipynb"))

COURSE = {lesson.name: lesson for lesson in course.LESSONS}
START = "00_start_here"
GUIDES = (
    "for_presenters",
    "for_teachers",
    "other_divisions_at_work",
    "practice",
)  # framed like a lesson at the opening, without steps or a closing
REFERENCES = ("exhibits", "glossary")  # to look things up in: a title, and no aims or minutes
CLOSING = ("What to remember", "Try on your instrument", "Sources")
THE_WAY_ON = "The way on"  # the last heading of a lesson of the course
IN_NUMBERS, YOUR_TURN = "In numbers", "Your turn"  # the parts of a step that every step has
CAUTION = ("volume", "hurt", "ring", "doctor or an audiologist", "noise rules")
MOST_LINES = 3
MOST_LINES_WITH_NUMPY = 4


def _code(notebook: Any) -> list[Any]:
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def _outputs(notebook: Any) -> list[Any]:
    return [output for cell in _code(notebook) for output in cell.outputs]


def _words(notebook: Any) -> str:
    return "\n\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")


def _headings(notebook: Any) -> list[str]:
    return re.findall(r"^## +(.+?) *$", _words(notebook), flags=re.MULTILINE)


def unkept(notebook: Any, name: str) -> list[str]:
    """Widget state, live views, errors, or cells without what they gave: the stored notebook is not as it should be."""
    faults = ["holds widget state"] if "widgets" in notebook.metadata else []
    faults += ["holds a live view"] if "vnd.jupyter.widget" in nbformat.writes(notebook) else []
    faults += ["holds an error"] if any(output.output_type == "error" for output in _outputs(notebook)) else []
    faults += ["holds a warning"] if any(output.get("name") == "stderr" for output in _outputs(notebook)) else []
    faults += [f"cell {cell.id} has not been run" for cell in _code(notebook) if cell.execution_count is None]
    shows = [cell for cell in _code(notebook) if isinstance(ast.parse(cell.source).body[-1], ast.Expr)]
    return faults + [f"cell {cell.id} shows nothing" for cell in shows if not cell.outputs]


def too_heavy(notebook: Any, name: str) -> list[str]:
    """Sound stored, or more bytes than a lesson may take."""
    text = nbformat.writes(notebook)
    faults = ["holds sound"] if re.search(r"data:audio|\"audio/|<audio", text) else []
    size = len(text.encode())
    return faults + ([f"takes {size} bytes"] if size > renew_lessons.LARGEST_BYTES else [])


def long_cells(notebook: Any, name: str) -> list[str]:
    """More code in a cell than a reader takes in at a glance."""
    faults = []
    for cell in _code(notebook):
        lines = [line for line in cell.source.splitlines() if line.strip() and not line.lstrip().startswith("#")]
        most = MOST_LINES_WITH_NUMPY if "np." in cell.source else MOST_LINES
        if len(lines) > most:
            faults.append(f"cell {cell.id} has {len(lines)} lines of code")
    return faults


def unframed(notebook: Any, name: str) -> list[str]:
    """No aims and time at the opening, no summary, practice and sources at the end, or no kind that the course has."""
    opening = notebook.cells[0].source
    faults = [] if re.match(r"# \S", opening) else ["does not open with a title"]
    if name in REFERENCES:
        return faults
    if name not in (START, *COURSE, *GUIDES):
        faults.append("is neither a lesson, nor a guide, nor a reference")
    faults += [] if "ou will be able to: " in opening else ["does not open with what you will be able to do"]
    faults += [] if re.search(r"\d+ minutes", opening) else ["does not open with how long it takes"]
    closing = (*CLOSING, THE_WAY_ON)
    if name in COURSE and tuple(_headings(notebook)[-len(closing) :]) != closing:
        faults.append(f"does not end with {', '.join(closing)}")
    return faults


def unlinked(notebook: Any, name: str) -> list[str]:
    """A lesson without links to the one before and the one after, or without its line of progress, at either end."""
    if name not in COURSE:
        return []
    row = [START, *COURSE, "practice"]
    place = row.index(name)
    opening, ending = notebook.cells[0].source, _words(notebook).rpartition(f"## {THE_WAY_ON}")[2]
    faults = [
        f"does not lead to {near} at its {where}"
        for near in (row[place - 1], row[place + 1])
        for where, words in (("opening", opening), ("end", ending))
        if f"({near}.ipynb)" not in words
    ]
    place_said = f"\nLesson {COURSE[name].number} of {len(COURSE)} · back: "
    faults += [] if place_said in opening else ["does not say in its opening which lesson it is"]
    titles = {START: "Start here"} | {each: lesson.heading for each, lesson in COURSE.items()}
    for title, path in re.findall(r"\[(\d\d [^]]+|Start here)\]\((\w+)\.ipynb\)", _words(notebook)):
        faults += [] if titles.get(path) == title else [f"calls {path} {title!r}"]
    lines = sum(f'progress_line("{name}")' in cell.source for cell in _code(notebook))
    return faults + ([] if lines == 2 else [f"has {lines} lines of progress instead of two"])


def unhidden(notebook: Any, name: str) -> list[str]:
    """In a lesson, code in sight that only sets something up, sums that are not folded away, no turn of one's own.

    Sums are under a heading that is folded, ``### In numbers``; ``### Your turn`` has the exercise.
    """
    if name not in COURSE:
        return []
    faults, part, folded, parts = [], "", False, {step.heading: [] for step in COURSE[name].steps}
    step = ""
    for cell in notebook.cells:
        tags = cell.metadata.get("tags", [])
        if cell.cell_type == "markdown":
            for level, words in re.findall(r"^(#{1,3}) +(.+?) *$", cell.source, flags=re.MULTILINE):
                part, folded = words, renew_lessons.FOLDED in tags
                step = (words if words in parts else "") if len(level) < 3 else step
                if step and len(level) == 3:
                    parts[step].append(words)
            if part == IN_NUMBERS and not folded:
                faults.append(f"cell {cell.id}: {IN_NUMBERS} is not folded")
            continue
        sums = re.search(r"\bby_(?:hand|library)\b", cell.source)
        if sums and not folded:
            faults.append(f"cell {cell.id} works something out that is not folded away")
        if not sums and renew_lessons.HIDDEN not in tags:
            faults.append(f"cell {cell.id} shows code that only sets something up")
    faults += [f"{heading} has no {YOUR_TURN}" for heading, found in parts.items() if YOUR_TURN not in found]
    return faults


def stray_steps(notebook: Any, name: str) -> list[str]:
    """A lesson that is not as the table of the course has it, or steps in a notebook that is no lesson."""
    if name in COURSE:
        return off_the_table(notebook, COURSE[name])
    return [f"has the step {heading!r}" for heading in _headings(notebook) if heading.startswith("Step")]


def off_the_table(notebook: Any, lesson: course.Lesson) -> list[str]:
    """A title, minutes, step headings or exhibits of a lesson that are not those of the table of the course."""
    opening = notebook.cells[0].source
    faults = [] if opening.splitlines()[0] == f"# {lesson.heading}" else [f"is not titled {lesson.heading}"]
    if f"about **{lesson.minutes} minutes**" not in opening:
        faults.append(f"does not say that it takes {lesson.minutes} minutes")
    found = [heading for heading in _headings(notebook) if heading.startswith("Step")]
    if len(found) != len(lesson.steps):
        return [*faults, f"has {len(found)} steps instead of {len(lesson.steps)}"]
    shown = _exhibits(notebook)
    for heading, step in zip(found, lesson.steps, strict=True):
        if heading != step.heading:
            faults.append(f"has the step {heading!r} where {step.heading!r} is due")
        elif shown[heading] != step.exhibits:
            faults.append(f"shows {shown[heading]} in step {step.number}, where the table has {step.exhibits}")
    return faults


def _exhibits(notebook: Any) -> dict[str, tuple[str, ...]]:
    """The exhibits that are shown under each heading, in order."""
    return _under_headings(notebook, r"\bpanel\(\s*[\"'](\w+)[\"']")


def _under_headings(notebook: Any, pattern: str) -> dict[str, tuple[str, ...]]:
    """What a pattern finds in the code under each heading, in order."""
    shown: dict[str, tuple[str, ...]] = {}
    heading = ""
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            for title in re.findall(r"^## +(.+?) *$", cell.source, flags=re.MULTILINE):
                heading = title
                shown[heading] = ()
        else:
            shown[heading] = (*shown.get(heading, ()), *re.findall(pattern, cell.source))
    return shown


def uncautioned(notebook: Any, name: str) -> list[str]:
    """A sound before the words about safe listening."""
    before = ""
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            before += cell.source
        elif re.search(r"\b(?:panel|keys|harmonic_keys|question)\(", cell.source):
            missing = [words for words in CAUTION if words not in " ".join(before.split())]
            return [f"plays a sound before the caution says {words!r}" for words in missing]
    return []


def strange_buttons(notebook: Any, name: str) -> list[str]:
    """A button to flip to, by its name in italics, that no exhibit or sound of a question under its heading has."""
    shown, asked, faults = _exhibits(notebook), _under_headings(notebook, r"\bquestion\((\d+)\)"), []
    for part in re.split(r"^(?=## )", _words(notebook), flags=re.MULTILINE):
        heading = part.partition("\n")[0].removeprefix("## ").strip()
        ways = {way for exhibit in shown.get(heading, ()) for way in find_exhibit(exhibit).comparisons}
        ways |= {sound.name for step in asked.get(heading, ()) for sound in question(int(step)).sounds}
        for names in re.findall(r"\b[Ff]lip (?:between|to)((?:[^*.:?]*\*[^*]+\*)+)", part):
            told = [" ".join(way.split()) for way in re.findall(r"\*([^*]+)\*", names)]
            faults += [f"there is no button {way!r} under {heading!r}" for way in told if way not in ways]
    return faults


def without_alt_text(notebook: Any, name: str) -> list[str]:
    """A picture that says nothing to a reader who cannot see it."""
    faults = [
        "a stored picture has no alt text"
        for output in _outputs(notebook)
        if "image/png" in output.get("data", {}) and not output.metadata.get("image/png", {}).get("alt", "").strip()
    ]
    pages = ["".join(output.get("data", {}).get("text/html", "")) for output in _outputs(notebook)]
    images = re.findall(r"<img\b[^>]*>", "\n".join([*pages, _words(notebook)]))
    faults += ["an <img> has no alt text"] * sum(not re.search(r'\balt="[^"]*\S[^"]*"', image) for image in images)
    return faults + ["a picture in the prose has no alt text"] * len(re.findall(r"!\[\s*\]\(", _words(notebook)))


def unequal_numbers(notebook: Any, name: str) -> list[str]:
    """Lines worked out in view that do not give the library's numbers.

    What a lesson works out by hand it calls ``by_hand``, and what the library gives, ``by_library``; the cells that
    define names are run here in order, and the two are compared each time ``by_library`` has been set.
    """
    space: dict[str, Any] = {}
    faults = []
    for cell in _code(notebook):
        tree = ast.parse(cell.source)
        tree.body = [part for part in tree.body if isinstance(part, (ast.Import, ast.ImportFrom, ast.Assign))]
        exec(compile(tree, f"<cell {cell.id}>", "exec"), space)
        if "by_library" in space:
            by_library, by_hand = space.pop("by_library"), space.pop("by_hand", None)
            if by_hand is None:
                faults.append(f"cell {cell.id} has the library's number, but none by hand")
            elif not np.allclose(np.asarray(by_hand, float), np.asarray(by_library, float), rtol=1e-9, atol=1e-9):
                faults.append(f"cell {cell.id} has {by_hand} by hand, and {by_library} by the library")
    return faults + (["a number by hand stands without the library's"] if "by_hand" in space else [])


RULES: tuple[Callable[[Any, str], list[str]], ...] = (
    unkept, too_heavy, long_cells, unframed, unlinked, unhidden, stray_steps, uncautioned, strange_buttons,
    without_alt_text, unequal_numbers,
)  # fmt: skip


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
@pytest.mark.parametrize("path", STORED, ids=lambda path: path.stem)
def test_a_stored_lesson_is_as_it_should_be(path: Path, rule: Callable[[Any, str], list[str]]) -> None:
    assert rule(nbformat.read(path, as_version=4), path.stem) == []


def test_every_notebook_is_there_and_every_lesson_that_has_steps_has_numbers_worked_in_view() -> None:
    names = [path.stem for path in STORED]
    assert {START, *COURSE, "for_teachers", *REFERENCES} <= set(names)
    for name in COURSE:
        text = (LESSONS / f"{name}.ipynb").read_text(encoding="utf-8")
        assert "by_library" in text, f"{name} works nothing out in view"


def test_the_map_names_every_lesson() -> None:
    notebook = nbformat.read(LESSONS / f"{START}.ipynb", as_version=4)
    words = "\n".join([_words(notebook), *(str(output.get("data", {})) for output in _outputs(notebook))])
    for path in STORED:
        assert path.name in words or path.stem == START, f"the map does not lead to {path.name}"


SOUNDING = [LESSONS.parent / "README.md", *(path for path in STORED if path.stem not in REFERENCES)]


@pytest.mark.parametrize("path", SOUNDING, ids=lambda path: path.stem)
def test_lessons_readme_and_printed_pages_caution_in_the_same_words(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    words = " ".join((text if path.suffix == ".md" else _words(nbformat.reads(text, as_version=4))).split())
    assert LOW_VOLUME.removesuffix(".") in words.replace(" > ", " ")
    assert RINGING in words.replace(" > ", " ")


def minutes(name: str) -> int:
    """How many minutes a notebook says it takes."""
    opening = nbformat.read(LESSONS / f"{name}.ipynb", as_version=4).cells[0].source
    found = re.search(r"about \*\*(\d+) minutes\*\*", opening)
    assert found, f"{name} does not say how long it takes"
    return int(found[1])


def plans() -> dict[str, list[tuple[int, str, str]]]:
    """The tables of minutes in for_teachers by their headings: rows of minutes, what is done, and the step if any."""
    words = _words(nbformat.read(LESSONS / "for_teachers.ipynb", as_version=4))
    tables = {}
    for part in re.split(r"^### ", words, flags=re.MULTILINE)[1:]:
        rows = re.findall(r"^\| (\d+) \| (.+?) \|(?: (\d*) ?\|)?$", part, flags=re.MULTILINE)
        if rows:
            tables[part.splitlines()[0]] = [(int(taken), what, step) for taken, what, step in rows]
    return tables


def plan_faults(tables: dict[str, list[tuple[int, str, str]]]) -> list[str]:
    """Totals that are no sums, minutes that are not the lessons' own, lessons left out or out of order."""
    found, led_to = [], []
    for title, rows in tables.items():
        *parts, (total, last, _) = rows
        if last != "in all" or total != sum(taken for taken, _, _ in parts):
            found.append(f"{title}: the parts come to {sum(taken for taken, _, _ in parts)}, not {total}")
        for taken, what, _ in parts:
            lesson = re.search(r"\((\w+)\.ipynb\)", what)
            if lesson:
                led_to.append(lesson[1])
                if taken != minutes(lesson[1]):
                    found.append(f"{title}: {lesson[1]} takes {minutes(lesson[1])} minutes, not {taken}")
    return found + ([] if led_to == [START, *COURSE] else [f"the evenings lead through {led_to}"])


def test_the_evenings_of_the_teachers_plan_add_up_and_hold_the_whole_course_in_its_order() -> None:
    tables = plans()
    assert plan_faults(tables) == []
    assert [rows[-1][0] for rows in tables.values()] == [120, 120, 120, 60], "three evenings of two hours, and an hour"
    (*_, hour) = tables.values()
    titles = {str(step.number): step.title.lower() for step in course.all_steps()}
    for _, what, number in hour:
        assert not number or titles[number] == what, f"step {number} is called {titles[number]}, not {what}"


@pytest.mark.parametrize(
    ("row", "column", "value", "fault"),
    [
        (1, 0, 20, "01_waves takes 15 minutes, not 20"),
        (1, 0, 20, "come to 125, not 120"),
        (1, 1, "waves", "the evenings lead through ['00_start_here', '02"),
        (-1, 0, 90, "come to 120, not 90"),
    ],
)
def test_a_plan_that_is_wrong_is_found_out(row: int, column: int, value: object, fault: str) -> None:
    tables = plans()
    first = next(iter(tables.values()))
    changed: list[Any] = list(first[row])
    changed[column] = value
    first[row] = tuple(changed)  # type: ignore[assignment]
    assert any(fault in found for found in plan_faults(tables))


def test_the_commands_for_teachers_are_understood() -> None:
    words = _words(nbformat.read(LESSONS / "for_teachers.ipynb", as_version=4))
    commands = re.findall(r"^python -m tunelib (\w+) (.+)$", words, flags=re.MULTILINE)
    assert {name for name, _ in commands} == {"handout", "band", "retune", "page", "listen"}
    for name, rest in commands:
        parser = argparse.ArgumentParser(exit_on_error=False)
        next(command for command in COMMANDS if name == command.NAME).add_arguments(parser)
        parser.parse_args(shlex.split(rest))
    for path in re.findall(r"\blessons/[\w/]+\.\w+", words):
        assert (LESSONS.parent / path).is_file(), f"there is no {path}"


def test_the_exercise_for_teachers_is_the_one_in_the_folder() -> None:
    words = _words(nbformat.read(LESSONS / "for_teachers.ipynb", as_version=4))
    [shown] = re.findall(r"```\n(title = .+?)```", words, flags=re.DOTALL)
    stored = (LESSONS / "material" / "up_to_the_neutral_third.toml").read_text(encoding="utf-8")
    assert stored.startswith(shown)
    exercise = read_exercise(LESSONS / "material" / "up_to_the_neutral_third.toml")
    assert [note.label for note in exercise.intended.notes] == ["C4", "D4", "E½♭4", "D4", "C4"]


def good() -> Any:
    """A small notebook that keeps every rule, under the name of the first lesson."""
    caution = (
        "Start with the volume low. Stop if it hurts or if your ears ring. Ringing that does not go away is a matter "
        "for a doctor or an audiologist. At work and in class, local noise rules apply."
    )
    shown = new_output(
        "execute_result",
        {"image/png": "iVBORw0KGgo=", "text/plain": "A wave."},
        execution_count=1,
        metadata={"image/png": {"alt": "A wave."}},
    )
    line = new_output("execute_result", {"text/plain": "So far."}, execution_count=1)
    hidden = {"tags": ["hide-input"]}
    links = "Lesson 1 of 9 · back: [Start here](00_start_here.ipynb) · on: [02 Overtones](02_overtones.ipynb)"
    steps = COURSE["01_waves"].steps
    sums = "import numpy as np\nfrom tunelib.pitch.intervals import cents\nby_hand = 1200 * np.log2(3 / 2)\n"
    return new_notebook(
        cells=[
            new_markdown_cell(
                f"# 01 Waves\n\nYou will be able to: see a wave. It takes about **15 minutes**.\n\n{links}"
            ),
            new_markdown_cell(caution),
            new_markdown_cell(f"## {steps[0].heading}\n\nWords.\n\n### Your turn"),
            new_code_cell('panel("wave")', outputs=[shown], execution_count=1, metadata=hidden),
            new_markdown_cell(f"## {steps[1].heading}\n\nWords.\n\n### Your turn"),
            new_code_cell('panel("beats")', outputs=[shown], execution_count=1, metadata=hidden),
            new_markdown_cell(f"## {steps[2].heading}\n\nFlip between *in tune* and *1 Hz\noff*: hear."),
            new_code_cell('panel("shared_peaks")', outputs=[shown], execution_count=1, metadata=hidden),
            new_markdown_cell("### In numbers", metadata={"tags": ["folded"]}),
            new_code_cell(sums + 'by_library = cents("3/2")', execution_count=2),
            new_markdown_cell("### Your turn"),
            *(new_markdown_cell(f"## {heading}\n\nWords.") for heading in CLOSING),
            new_markdown_cell(f"## The way on\n\n{links}"),
            *(
                new_code_cell('progress_line("01_waves")', outputs=[line], execution_count=1, metadata=hidden)
                for _ in range(2)
            ),
        ]
    )


def test_a_good_notebook_keeps_every_rule() -> None:
    assert [fault for rule in RULES for fault in rule(good(), "01_waves")] == []


def _change(cell: int, **parts: Any) -> Callable[[Any], None]:
    return lambda notebook: notebook.cells[cell].update(parts)


def _say(cell: int, old: str, new: str) -> Callable[[Any], None]:
    return lambda notebook: notebook.cells[cell].update(source=notebook.cells[cell].source.replace(old, new))


PICTURE, SUMS = 3, 9  # places of the code cells in the good notebook
ERROR = new_output("error", ename="ValueError", evalue="no", traceback=[])
WARNING = new_output("stream", name="stderr", text="careful")
SOUND = new_output("display_data", {"text/html": '<audio src="data:audio/wav;base64,UklGRg==">'})
BARE = new_output("display_data", {"text/html": '<p><img src="data:image/png;base64,iVBORw0KGgo=" alt=" "></p>'})
LIVE = new_output("display_data", {"application/vnd.jupyter.widget-view+json": {"model_id": "1"}})
HEAVY = new_output("display_data", {"text/plain": "x" * 600_001})


@pytest.mark.parametrize(
    ("rule", "spoil", "fault"),
    [
        (unkept, lambda notebook: notebook.metadata.update(widgets={}), "holds widget state"),
        (unkept, lambda notebook: notebook.cells[SUMS].outputs.append(LIVE), "holds a live view"),
        (unkept, lambda notebook: notebook.cells[SUMS].outputs.append(ERROR), "holds an error"),
        (unkept, lambda notebook: notebook.cells[SUMS].outputs.append(WARNING), "holds a warning"),
        (unkept, _change(SUMS, execution_count=None), "has not been run"),
        (unkept, _change(PICTURE, outputs=[]), "shows nothing"),
        (too_heavy, lambda notebook: notebook.cells[SUMS].outputs.append(SOUND), "holds sound"),
        (too_heavy, lambda notebook: notebook.cells[SUMS].outputs.append(HEAVY), "takes 60"),
        (long_cells, _say(SUMS, "by_hand", "a = 1\nby_hand"), "has 5 lines"),
        (long_cells, _change(PICTURE, source="a = 1\nb = 2\nc = 3\nd = 4"), "has 4 lines"),
        (unframed, _say(0, "# ", ""), "title"),
        (unframed, _say(0, "be able to", ""), "able to do"),
        (unframed, _say(0, "15 minutes", "a while"), "how long"),
        (unframed, lambda notebook: notebook.cells.pop(13), "does not end with"),
        (unlinked, _say(0, "02_overtones", "03_measuring_pitch"), "does not lead to 02_overtones at its opening"),
        (unlinked, _say(14, "00_start_here", "practice"), "does not lead to 00_start_here at its end"),
        (unlinked, _say(0, "Lesson 1 of 9", "Lesson 2 of 9"), "does not say in its opening which lesson it is"),
        (unlinked, _say(0, "[02 Overtones]", "[02 Undertones]"), "calls 02_overtones '02 Undertones'"),
        (unlinked, lambda notebook: notebook.cells.pop(), "has 1 lines of progress instead of two"),
        (unhidden, _change(PICTURE, metadata={}), "shows code that only sets something up"),
        (unhidden, _change(8, metadata={}), "In numbers is not folded"),
        (unhidden, _say(8, "### In numbers", "Words"), "works something out that is not folded away"),
        (unhidden, _say(10, "Your turn", "Yours"), "Step 3 · Peaks that meet has no Your turn"),
        (stray_steps, _say(0, "Waves", "Of waves"), "is not titled 01 Waves"),
        (stray_steps, _say(0, "**15 minutes**", "**20 minutes**"), "does not say that it takes 15 minutes"),
        (stray_steps, _say(2, "Step 1", "Step 9"), "where 'Step 1 · A wave you can see' is due"),
        (stray_steps, _say(2, "A wave", "Something"), "where 'Step 1 · A wave you can see' is due"),
        (stray_steps, lambda notebook: notebook.cells.pop(2), "has 2 steps instead of 3"),
        (stray_steps, lambda notebook: notebook.cells.insert(2, notebook.cells.pop(4)), "'Step 2 · Two waves drift"),
        (stray_steps, _say(PICTURE, "wave", "beats"), "shows ('beats',) in step 1, where the table has ('wave',)"),
        (uncautioned, _say(1, "audiologist", "plumber"), "before the caution says"),
        (uncautioned, lambda notebook: notebook.cells.append(notebook.cells.pop(1)), "before the caution says"),
        (uncautioned, lambda notebook: notebook.cells.insert(1, new_code_cell("keys(12)")), "before the caution says"),
        (strange_buttons, _say(6, "*1 Hz\noff*", "*2 Hz\noff*"), "no button '2 Hz off' under 'Step 3"),
        (without_alt_text, lambda notebook: notebook.cells[PICTURE].outputs[0].update(metadata={}), "stored picture"),
        (without_alt_text, _say(2, "Words.", "![](picture.png)"), "in the prose"),
        (without_alt_text, _say(2, "Words.", '<img src="picture.png">'), "an <img>"),
        (without_alt_text, lambda notebook: notebook.cells[SUMS].outputs.append(BARE), "an <img>"),
        (unequal_numbers, _say(SUMS, "3 / 2", "4 / 3"), "by hand, and"),
        (unequal_numbers, _say(SUMS, "by_library =", "other ="), "without the library's"),
        (unequal_numbers, _say(SUMS, "by_hand =", "other ="), "none by hand"),
    ],
)
def test_a_notebook_that_breaks_a_rule_is_found_out(
    rule: Callable[[Any, str], list[str]], spoil: Callable[[Any], Any], fault: str
) -> None:
    notebook = good()
    spoil(notebook)
    assert any(fault in found for found in rule(notebook, "01_waves"))


def test_a_guide_needs_no_closing_a_reference_no_aims_and_a_notebook_of_no_kind_is_found_out() -> None:
    notebook = good()
    notebook.cells = notebook.cells[:1]
    assert unframed(notebook, "for_teachers") == []
    assert stray_steps(good(), "for_teachers")[0] == "has the step 'Step 1 · A wave you can see'"
    assert unframed(notebook, "10_more") == ["is neither a lesson, nor a guide, nor a reference"]
    notebook.cells[0].source = "# Glossary"
    assert unframed(notebook, "glossary") == []
    assert len(unframed(notebook, "for_teachers")) == 2
    notebook.cells[0].source = "Glossary"
    assert unframed(notebook, "glossary") == ["does not open with a title"]


@pytest.fixture(scope="module")
def renewed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with one notebook, executed and stored by the command that renews the lessons."""
    folder = tmp_path_factory.mktemp("lessons")
    cells = [
        new_markdown_cell("# Waves"),
        new_code_cell("from tunelib.practice import question"),
        new_markdown_cell("## Step 1 · A wave you can see"),
        new_code_cell("question(1)", metadata={"collapsed": True}),
        new_markdown_cell("## What to remember"),
    ]
    nbformat.write(new_notebook(cells=cells, metadata={"widgets": {"state": {}}}), folder / "lesson.ipynb")
    assert renew_lessons.main(["--folder", str(folder)]) == 0
    return folder


def test_renewing_stores_what_a_reader_needs_and_nothing_that_differs_from_run_to_run(renewed: Path) -> None:
    first = (renewed / "lesson.ipynb").read_bytes()
    notebook = nbformat.read(renewed / "lesson.ipynb", as_version=4)
    assert unkept(notebook, "lesson") == []
    assert set(notebook.cells[3].outputs[0].data) == {"text/markdown", "text/plain"}
    assert [cell.id for cell in notebook.cells] == [
        "opening-1", "opening-2", "step-1-1", "step-1-2", "what-to-remember-1",
    ]  # fmt: skip
    assert notebook.cells[3].metadata == {}
    assert renew_lessons.main(["lesson", "--folder", str(renewed)]) == 0
    assert (renewed / "lesson.ipynb").read_bytes() == first


def test_checking_passes_what_is_current_finds_what_is_not_and_writes_nothing(renewed: Path, tmp_path: Path) -> None:
    assert renew_lessons.main(["--check", "--folder", str(renewed)]) == 0
    stale = (renewed / "lesson.ipynb").read_bytes().replace(b"be taller", b"be smaller")
    (tmp_path / "lesson.ipynb").write_bytes(stale)
    assert renew_lessons.main(["--check", "--folder", str(tmp_path)]) == 1
    assert (tmp_path / "lesson.ipynb").read_bytes() == stale


def test_a_failing_cell_is_reported_and_the_stored_lesson_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    nbformat.write(new_notebook(cells=[new_code_cell("1 / 0")]), tmp_path / "lesson.ipynb")
    before = (tmp_path / "lesson.ipynb").read_bytes()
    assert renew_lessons.main(["--folder", str(tmp_path)]) == 1
    assert "a cell fails: ZeroDivisionError" in capsys.readouterr().err
    assert (tmp_path / "lesson.ipynb").read_bytes() == before


def test_an_unknown_lesson_is_named_with_those_that_exist(renewed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        renew_lessons.main(["99_nothing", "--folder", str(renewed)])
    assert "no lesson is called '99_nothing'; there are lesson" in capsys.readouterr().err
