"""Handouts of lessons: what is on them, as other people's programs read it, and what cannot be printed."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import time
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from poppler import poppler, unhyphened, words
from test_lessons import COURSE, LESSONS
from test_page import descriptions

from tunelib.commands.line import main
from tunelib.exhibits import EXHIBITS
from tunelib.pitch.words import drawn
from tunelib.practice import exercise, exercises, question
from tunelib.practice.answers import LETTERS, Choice
from tunelib.practice.handout import handout

MARGIN = 42.5  # points: 15 mm


def notebook(folder: Path, *cells: str, name: str = "own.ipynb") -> Path:
    """A notebook of Markdown cells, and of code cells, which begin with ``>>> ``."""
    made = [
        {"cell_type": "code", "source": cell[4:]}
        if cell.startswith(">>> ")
        else {"cell_type": "markdown", "source": cell}
        for cell in cells
    ]
    path = folder / name
    path.write_text(json.dumps({"nbformat": 4, "nbformat_minor": 5, "metadata": {}, "cells": made}), encoding="utf-8")
    return path


def exhibited(lesson: str) -> list[tuple[str, dict[str, Any]]]:
    """The panels of a lesson in order, found another way than by the handout: as its lines are written."""
    cells = json.loads((LESSONS / f"{lesson}.ipynb").read_text(encoding="utf-8"))["cells"]
    code = ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "code"]
    found = re.findall(r"^panel\((.*)\)$", "\n".join(code), flags=re.MULTILINE)
    return [eval(f"(lambda name, **knobs: (name, knobs))({arguments})") for arguments in found]


def on_paper(asked: Any) -> str:
    """What is asked as a handout has it: with what a room is played first, in the words of a list."""
    names = [sound.name for sound in asked.sounds]
    listed = " and ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))
    played = f"To be played first: {listed}." if names else ""
    return " ".join([*asked.asked, played])


@pytest.mark.parametrize("answers", [False, True], ids=["to write on", "with answers"])
@pytest.mark.parametrize("lesson", COURSE)
def test_a_handout_holds_the_whole_lesson(tmp_path: Path, lesson: str, answers: bool) -> None:
    """As poppler reads it: headings, questions with choices, exercises, sentences, and the answers if asked for"""
    path = handout(LESSONS / f"{lesson}.ipynb", tmp_path / "a.pdf", answers=answers)
    text = unhyphened(poppler("pdftotext", path, "-"))
    sheets = [unhyphened(sheet) for sheet in poppler("pdftotext", path, "-").split("\f")[:-1]]
    title = json.loads((LESSONS / f"{lesson}.ipynb").read_text(encoding="utf-8"))["cells"][0]["source"][0].strip("# \n")
    assert text.startswith(unhyphened(title))
    for part in ("You will be able to: ", "Mind your ears. ", "What to remember", "Try on your instrument", "Sources"):
        assert part in text
    sentences = [EXHIBITS[name].sentence(**EXHIBITS[name].settle(knobs)) for name, knobs in exhibited(lesson)]
    for sentence in sentences:
        assert unhyphened(drawn(sentence)) in text
    for step in (each.number for each in COURSE[lesson].steps):
        assert f"Step {step} · " in text
        asked, tasks = question(step), exercises(step)
        choices = asked.answer.lettered if isinstance(asked.answer, Choice) else ()
        whole = unhyphened(drawn(" ".join([f"Question. {on_paper(asked)}", *choices])))
        assert sum(whole in sheet for sheet in sheets) == 1, "a question is split, or missing"
        for task in tasks:
            assert sum(unhyphened(drawn(f"{task.title} {on_paper(task)}")) in sheet for sheet in sheets) == 1
        told = [words_told for task in tasks for words_told in (f"Hint. {task.hint}", task.worked)]
        told += asked.answer.responses if isinstance(asked.answer, Choice) else ()
        for words_told in told:
            assert (unhyphened(drawn(words_told)) in text) is answers, words_told
        if answers and isinstance(asked.answer, Choice):
            assert f"It is {LETTERS[asked.answer.right]}." in text
    assert descriptions(path.read_bytes()) == [drawn(sentence) for sentence in sentences]
    facts = dict(re.findall(r"(?m)^([^:\n]+): +(.*)$", poppler("pdfinfo", path)))
    assert facts["Title"] == title + (": answers" if answers else "")
    assert facts["Tagged"] == "yes" and 2 <= int(facts["Pages"]) <= (8 if answers else 10)
    assert b"<pdfuaid:part>1</pdfuaid:part>" in path.read_bytes()  # ISO 14289-1, clause 5
    sheets = poppler("pdftotext", "-layout", path, "-").split("\f")[:-1]
    for number, sheet in enumerate(sheets, start=1):
        *_, last, foot = (words(line) for line in sheet.splitlines() if line.strip())
        assert re.fullmatch(rf"{facts['Title']} {number} ?/ ?{len(sheets)}", foot)
        assert not re.fullmatch(r"Step \d+ · .*|What to remember|Try on your instrument|Sources", last)


@pytest.mark.parametrize("lesson", COURSE)
def test_no_page_of_a_learner_s_handout_answers_what_it_asks(tmp_path: Path, lesson: str) -> None:
    """Page by page: questions, then pictures with their sentences and exercises, then what is to be remembered"""
    path = handout(LESSONS / f"{lesson}.ipynb", tmp_path / "a.pdf")
    sheets = [unhyphened(sheet) for sheet in poppler("pdftotext", path, "-").split("\f")[:-1]]

    def places(*said: str) -> list[int]:
        return [place for one in said for place, sheet in enumerate(sheets) if unhyphened(drawn(one)) in sheet]

    steps = [each.number for each in COURSE[lesson].steps]
    asked = places(*(f"Question. {question(step).prompt}" for step in steps))
    shown = places(*(EXHIBITS[name].sentence(**EXHIBITS[name].settle(knobs)) for name, knobs in exhibited(lesson)))
    tried = places(*(f"Exercise. {exercise(step).prompt}" for step in steps))
    remembered = places("What to remember")
    assert len(asked) == len(tried) == len(steps) and len(shown) >= len(steps) and len(remembered) == 1
    assert max(asked) < min(shown + tried) and max(shown + tried) < min(remembered)


def test_a_teacher_s_copy_keeps_the_order_of_the_lesson(tmp_path: Path) -> None:
    text = words(poppler("pdftotext", handout(notebook(tmp_path, *OWN), tmp_path / "a.pdf", answers=True), "-"))
    found = [text.index(part) for part in ("Step 1", "Question.", "Exercise.", "Try on your instrument")]
    assert found == sorted(found) and "Guess first" not in text


@pytest.mark.parametrize(("paper", "size"), [("a4", "595.276 x 841.89 pts (A4)"), ("letter", "612 x 792 pts (letter)")])
def test_nothing_leaves_the_margins(tmp_path: Path, paper: str, size: str) -> None:
    """On A4 (ISO 216) and Letter (ANSI Y14.1): every word and every picture, as poppler finds their places"""
    path = handout(LESSONS / "07_thirty_one_notes.ipynb", tmp_path / "a.pdf", paper=paper)
    pages = poppler("pdfinfo", "-l", "99", path)
    sizes = re.findall(r"Page +\d+ size: +(.*)", pages)
    assert sizes
    for found in sizes:
        assert found == size
    width, height = (float(number) for number in re.findall(r"[\d.]+", size)[:2])
    places = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)"', poppler("pdftotext", "-bbox", path, "-"))
    assert len(places) > 500
    for left, top, right in places:
        assert float(left) > MARGIN - 1 and float(right) < width - MARGIN + 1 and float(top) > MARGIN - 6
    boxes = re.findall(rb"/O ?/Layout[^>]*/BBox ?\[([-\d. ]+)\]", path.read_bytes())  # of pictures and tables
    assert len(boxes) == len(exhibited("07_thirty_one_notes")) + 2
    for box in boxes:
        left, bottom, right, top = map(float, box.split())
        assert MARGIN - 1 < left < right < width - MARGIN + 1 and MARGIN - 1 < bottom < top < height - MARGIN + 1


def pixels(path: Path, folder: Path, page: int = 1) -> Any:
    """A sheet of a PDF at 50 dots an inch: red, green and blue, 0 to 255."""
    poppler("pdftoppm", "-r", "50", "-f", str(page), "-png", "-singlefile", path, folder / "sheet")
    return np.asarray(Image.open(folder / "sheet.png").convert("RGB")).astype(int)


OWN = (
    "# Our evening\n\nYou will be able to: clap.",
    "## Step 1 · Clapping\n\nProse that belongs to the screen.",
    ">>> question(1)",
    "**Listen.** Clap *twice*.",
    ">>> exercise(1)",
    "## Try on your instrument\n\nClap.",
    "## Sources\n\n- [ours](https://example.org/a), and [a lesson](01_waves.ipynb)\n- `clap(2)`",
)


def test_there_is_room_to_write_where_no_answers_are_printed(tmp_path: Path) -> None:
    """Counted as rows of pixels that are dark from margin to margin: a reason, an exercise, a try on the instrument"""
    own = notebook(tmp_path, *OWN)

    def ruled(answers: bool) -> int:
        path = handout(own, tmp_path / f"{answers}.pdf", answers=answers)
        sheets = int(re.findall(r"Pages: +(\d+)", poppler("pdfinfo", path))[0])
        dark = [
            (pixels(path, tmp_path, page)[:, 35:-35].max(axis=2) < 240).all(axis=1) for page in range(1, sheets + 1)
        ]
        return sum(int((rows[1:] & ~rows[:-1]).sum()) for rows in dark)

    assert ruled(False) == 1 + 3 + 2
    assert ruled(True) == 0


def test_all_but_the_pictures_is_black_and_grey(tmp_path: Path) -> None:
    for answers in (False, True):
        sheet = pixels(handout(notebook(tmp_path, *OWN), tmp_path / f"{answers}.pdf", answers=answers), tmp_path)
        assert (sheet.max(axis=2) - sheet.min(axis=2)).max() == 0 and sheet.min() < 60


def test_pictures_can_be_told_apart_in_grey(tmp_path: Path) -> None:
    """Twelve's squares and thirty-one's dots differ in shape, and when only lightness is left both still stay at least

    three to one against the paper (WCAG 2.2, success criterion 1.4.11).
    """
    own = notebook(tmp_path, "# A", "## Step 1 · B", '>>> panel("ring_of_31")')
    sheet = pixels(handout(own, tmp_path / "a.pdf"), tmp_path)
    coloured = sheet[(sheet.max(axis=2) - sheet.min(axis=2)) > 120]
    linear = np.where(coloured / 255 <= 0.04045, coloured / 255 / 12.92, ((coloured / 255 + 0.055) / 1.055) ** 2.4)
    luminance = linear @ [0.2126, 0.7152, 0.0722]
    assert len(coloured) > 50
    assert np.all(1.05 / (luminance + 0.05) > 3)


def test_a_teachers_own_notebook_is_followed(tmp_path: Path) -> None:
    path = handout(notebook(tmp_path, *OWN), tmp_path / "a.pdf")
    text = words(poppler("pdftotext", path, "-"))
    for part in ("Our evening", "Mind your ears. Start with the volume low", "Step 1 · Clapping", "Clap.", "clap(2)"):
        assert part in text
    assert "Prose that belongs to the screen" not in text
    assert "Listen. Clap twice" not in text  # which belongs to a panel, and there is none
    links = re.findall(rb"/URI ?\(([^)]*)\)", path.read_bytes())
    assert links == [b"https://example.org/a"]  # a neighbouring notebook cannot be opened from paper


def test_a_table_goes_with_its_picture_if_it_is_short(tmp_path: Path) -> None:
    own = notebook(
        tmp_path, "# A", "## Step 1 · B", '>>> panel("key_grid")\npanel("written_notes", theme="dark", density=2)'
    )
    text = words(poppler("pdftotext", "-layout", handout(own, tmp_path / "a.pdf"), "-"))
    grid, notes = (EXHIBITS[name].printed(**EXHIBITS[name].settle({})) for name in ("key_grid", "written_notes"))
    assert grid.table_title in text and notes.table_title not in text
    for row in grid.rows:
        assert drawn(" ".join(row)) in text


def test_an_answer_that_is_played_can_be_written_on_paper(tmp_path: Path) -> None:
    own = notebook(tmp_path, "# A", "## Step 25 · B", ">>> exercise(25)")
    text = words(poppler("pdftotext", "-layout", handout(own, tmp_path / "a.pdf"), "-"))
    assert words(exercise(25).prompt) in text and words(exercise(25).answer.ways) in text


def test_markup_in_a_notebook_is_only_text(tmp_path: Path) -> None:
    title = '#panic("x") $a$ = b @c'
    own = notebook(tmp_path, f"# {title}", f"## Step 1 · {title}", f"- {title}", f"### {title}", f"> {title}")
    text = poppler("pdftotext", handout(own, tmp_path / "a.pdf"), "-")
    assert text.count(title) >= 4


def test_nothing_of_a_notebook_is_run(tmp_path: Path) -> None:
    own = notebook(
        tmp_path, "# A", "## Step 1 · B", f">>> %matplotlib inline\nopen({str(tmp_path / 'made')!r}, 'w')\nquestion(2)"
    )
    handout(own, tmp_path / "a.pdf")
    assert not (tmp_path / "made").exists()


HARD = {
    "no title": (("## Step 1 · B", "## End"), ["own", "Step 1 · B", "End"]),
    "an empty title": (("#", "## Step 1 · B"), ["own", "Step 1 · B"]),
    "a third heading first": (("### C", "# A", "## Step 1 · B", "##### D"), ["A", "C", "Step 1 · B", "D"]),
    "a third heading before the second": (("# A", "### C", "## Step 1 · B"), ["A", "C", "Step 1 · B"]),
    "a step of the first level": (("# Step 1 · B", '>>> panel("key_grid")'), ["Step 1 · B"]),
    "empty headings": (("# A", "## Step 1 · B", "## ", "### **&#32;**"), ["A", "Step 1 · B"]),
    "stars": (("# A", "## Step 1 · B", f"### C {'*' * 50_000}"), ["A", "Step 1 · B", "C "]),
    "an open star": (("# A", "## Step 1 · B", f"### *open {'**bold** ' * 24}"), ["A", "Step 1 · B", "*open bold bold"]),
    "runs of ticks": (("# A", "## Step 1 · B", "### a `` b ` `c `` d ``` e"), ["A", "Step 1 · B", "a b ` `c d ``` e"]),
    "no characters": (("# A\ufffe", "## Step 1 · B\ud800", "### C\x07&#xFEFF;\ufdd0\t"), ["A", "Step 1 · B", "C"]),
    "strange scripts": (("# 漢 \U0001f600", "## Step 1 · B"), ["漢", "Step 1 · B"]),
}  # fmt: skip


def tagged(path: Path) -> str:
    """The tags of a PDF, as poppler prints them."""
    return subprocess.run(["pdfinfo", "-struct", path], check=True, capture_output=True).stdout.decode("latin-1")


@pytest.mark.parametrize("name", HARD)
def test_headings_of_any_kind_are_printed_below_each_other(tmp_path: Path, name: str) -> None:
    """As poppler has them: one of the first level, none empty, no level skipped (ISO 14289-1, 7.4.2); within seconds"""
    cells, expected = HARD[name]
    begun = time.process_time()
    path = handout(notebook(tmp_path, *cells), tmp_path / "a.pdf")
    assert time.process_time() - begun < 5
    levels = [int(level) for level in re.findall(r"(?m)^ *H([1-6])\b", tagged(path))]
    assert len(levels) >= len(expected) and levels.count(1) == 1 and levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    text = words(poppler("pdftotext", path, "-"))
    places = [text.index(heading) for heading in expected]
    assert places == sorted(places)


@pytest.mark.parametrize(
    "code",
    [
        "%%time\nquestion(2)",
        "%%html\n<b>what (is this\n",
        "wave?",
        "?wave\nquestion(2)",
        "found = %timeit -o 3\nfiles = !ls (\nquestion(2)",
        "if True:\n    %time (\nquestion(2)",
        "left = (10\n% 3)\nquestion(2)",
        "%time (\n" * 2000 + "question(2)",
    ],
)
def test_what_ipython_alone_understands_is_passed_over(tmp_path: Path, code: str) -> None:
    begun = time.process_time()
    path = handout(notebook(tmp_path, "# A", "## Step 1 · B", f">>> {code}"), tmp_path / "a.pdf")
    assert time.process_time() - begun < 5
    asked = question(2).prompt[:20]
    assert (unhyphened(drawn(asked)) in unhyphened(poppler("pdftotext", path, "-"))) is ("question(2)" in code)


@pytest.mark.parametrize(
    ("cells", "message"),
    [
        (("# A", "no step"), r"own\.ipynb has no steps to make a handout of; a step begins with a heading such as"),
        (("## Step 1", '>>> panel("wvae")'), r"own\.ipynb, cell 2: no exhibit is called 'wvae'; did you mean wave"),
        (
            ("## Step 1", '>>> panel("wave", herz=3)'),
            r"own\.ipynb, cell 2: no knob is called 'herz'; did you mean hertz",
        ),
        (("## Step 1", '>>> panel("wave", hertz=3)'), r"own\.ipynb, cell 2: hertz goes from"),
        (("## Step 1", ">>> question(99)"), r"cell 2: there is no step 99 here: steps run from 1 to 31"),
        (("## Step 1", '>>> exercise("3")'), r"cell 2: there is no step '3' here"),
        (("## Step 1", ">>> exercise(n)"), r"cell 2: exercise\(n\) cannot be printed: a handout runs nothing, so each"),
        (("## Step 1", '>>> panel("wave", **knobs)'), r"cell 2: panel\('wave', \*\*knobs\) cannot be printed"),
        (("## Step 1", '>>> panel("wave", hertz={{}: 1})'), r"cell 2: panel\('wave', hertz=.*\) cannot be printed"),
        (("## Step 1", ">>> question(1)\0"), r"cell 2.* cannot be read as Python: source code .* null bytes"),
        (("## Step 1", ">>> panel(*names)"), r"cell 2: panel\(\*names\) cannot be printed"),
        (("## Step 1", '>>> panel("wave", "beats")'), r"cell 2: .* cannot be printed"),
        (("## Step 1", ">>> panel(None)"), r"cell 2: panel\(None\) cannot be printed"),
        (("## Step 1", ">>> panel()"), r"cell 2: panel\(\) takes one exhibit, such as panel\(\"wave\"\)"),
        (("## Step 1", ">>> question(1, hint=2)"), r"cell 2: question\(\) takes one step, such as question\(3\)"),
        (("## Step 1", f">>> question({'9' * 5000})"), r"cell 2: line 1 .* a number of thousands of digits$"),
        (
            ("## Step 1", f">>> question({'9' * 300})"),
            r"cell 2: there is no step 9{60} … here: steps run from 1 to 31$",
        ),
        (
            ("## Step 1", f">>> panel('wave', hertz={'9' * 400})"),
            r"cell 2: hertz goes from 55 to 1760 Hz, not to 9+ …$",
        ),
        (("## Step 1", f">>> panel('{'w' * 9999}')"), r"cell 2: no exhibit is called 'w{59} …; "),
        (
            ("## Step 1", f">>> panel('wave', hertz=f({'1, ' * 9999}))"),
            r"cell 2: panel\('wave', .* … cannot be printed",
        ),
        (
            ("## Step 1", f">>> panel('wave', hertz={'-' * 9999}1)"),
            r"cell 2 cannot be read as Python: .* too deep in one",
        ),
        (
            ("## Step 1", f">>> a = {'[' * 9999}"),
            r"cell 2: line 1 cannot be read as Python: too many nested parentheses",
        ),
        (
            ("## Step 1", "a" * 200_001),
            r"cell 2 has 200,001 characters, too many for a handout: divide it, or take out",
        ),
        (("## Step 1", ">>> a = (\nquestion(1)"), r"cell 2: line 1 cannot be read as Python: '\(' was never closed"),
    ],
)
def test_what_a_notebook_gets_wrong_is_said_with_its_cell(tmp_path: Path, cells: tuple[str, ...], message: str) -> None:
    with pytest.raises(ValueError, match=message) as refused:
        handout(notebook(tmp_path, *cells), tmp_path / "a.pdf")
    assert len(str(refused.value).removeprefix(str(tmp_path))) < 600 and "\n" not in str(refused.value)
    assert os.listdir(tmp_path) == ["own.ipynb"]


@pytest.mark.parametrize(
    ("stored", "message"),
    [
        (b'{"cells": [', r"line 1, column 12: Expecting value"),
        (b"\xff\xfe", "is not a notebook: it is not text in UTF-8"),
        (b"[1]", "is not a notebook: it has no list of cells; open it in JupyterLab and save it again"),
        (b'{"worksheets": [], "nbformat": 3}', "it has no list of cells"),
        (b'{"cells": [{"cell_type": "markdown"}]}', r"own\.ipynb, cell 1 is damaged: it has no source"),
        (b'{"cells": ["# A"]}', r"own\.ipynb, cell 1 is damaged"),
        (b'{"cells": [{"cell_type": "code", "source": [1]}]}', r"own\.ipynb, cell 1 is damaged"),
        (b"[" * 100_000, "is not a notebook"),
        (b'{"cells": [' + b'{"a": ' * 5000 + b"1" + b"}" * 5000 + b"]}", "it holds lists within lists without end"),
    ],
)
def test_a_file_that_is_no_notebook_is_refused(tmp_path: Path, stored: bytes, message: str) -> None:
    (tmp_path / "own.ipynb").write_bytes(stored)
    with pytest.raises(ValueError, match=message):
        handout(tmp_path / "own.ipynb", tmp_path / "a.pdf")


def test_a_place_that_cannot_be_written_or_read_is_refused(tmp_path: Path) -> None:
    own = notebook(tmp_path, *OWN)
    with pytest.raises(FileNotFoundError, match=r"there is no file .*none\.ipynb"):
        handout(tmp_path / "none.ipynb", tmp_path / "a.pdf")
    with pytest.raises(ValueError, match="is not an ordinary file"):
        handout(tmp_path, tmp_path / "a.pdf")
    with pytest.raises(ValueError, match=r"a handout is a \.pdf file, not 'a\.png'"):
        handout(own, tmp_path / "a.png")
    with pytest.raises(ValueError, match="no paper is called 'a5'; known are a4 and letter"):
        handout(own, tmp_path / "a.pdf", paper="a5")
    (tmp_path / "a.pdf").write_bytes(b"mine")
    with pytest.raises(FileExistsError, match=r"a\.pdf is already there"):
        handout(own, tmp_path / "a.pdf")
    assert (tmp_path / "a.pdf").read_bytes() == b"mine"
    assert handout(own, tmp_path / "a.pdf", overwrite=True).read_bytes().startswith(b"%PDF")


def test_without_typst_a_handout_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    own = notebook(tmp_path, *OWN)
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(ImportError, match=r'pip install "tunelib\[studio\]"'):
        handout(own, tmp_path / "a.pdf")
    assert os.listdir(tmp_path) == ["own.ipynb"]


def test_the_command_prints_handouts_and_answers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first, second = notebook(tmp_path, *OWN, name="one.ipynb"), notebook(tmp_path, *OWN, name="two.ipynb")
    out = tmp_path / "handouts"
    assert main(["handout", str(first), str(second), "--out", str(out)]) == 0
    assert capsys.readouterr().out.splitlines() == [str(out / "one.pdf"), str(out / "two.pdf")]
    assert main(["handout", str(first), "--out", str(out), "--answers", "--paper", "letter"]) == 0
    assert sorted(os.listdir(out)) == ["one-answers.pdf", "one.pdf", "two.pdf"]
    assert "612 x 792 pts" in poppler("pdfinfo", out / "one-answers.pdf")
    capsys.readouterr()
    assert main(["handout", str(first), "--out", str(out)]) == 2
    assert "one.pdf is already there and will not be overwritten; choose another" in capsys.readouterr().err
    assert main(["handout", str(first), "--out", str(out), "--force"]) == 0


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["none.ipynb"], "there is no file none.ipynb"),
        (["own.ipynb", "own.ipynb"], "two of these lessons would both be written to own.pdf"),
        (["own.ipynb", "bad.ipynb"], "bad.ipynb, cell 2: no exhibit is called 'wvae'; did you mean wave"),
        (["own.ipynb", "--paper", "a5"], "no paper is called 'a5'"),
        ([str(LESSONS / "00_start_here.ipynb")], "00_start_here.ipynb has no steps to make a handout of"),
    ],
)
def test_the_command_says_in_one_line_what_is_wrong(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    arguments: list[str],
    message: str,
) -> None:
    """And nothing is written or said to be printed, were it only the second of two lessons that is at fault."""
    monkeypatch.chdir(tmp_path)
    notebook(tmp_path, *OWN)
    notebook(tmp_path, "## Step 1", '>>> panel("wvae")', name="bad.ipynb")
    assert main(["handout", *arguments, "--out", "out"]) == 2
    [said] = capsys.readouterr().err.splitlines()
    assert said.startswith("python -m tunelib handout: ")
    assert message in said
    assert not (tmp_path / "out").exists()
