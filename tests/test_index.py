"""The index of exhibits: it has every one of them, says of each what is so, and can be read by anyone."""

from __future__ import annotations

import io
import re
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import nbformat
import pytest
import renew_lessons
from lxml import html
from PIL import Image
from test_exhibits import contrast

from tunelib import course
from tunelib.course import all_steps, places_of
from tunelib.exhibits import EXHIBITS
from tunelib.exhibits.exhibit import Choice, Slider
from tunelib.exhibits.look import THEMES
from tunelib.show.index import Index, index, knob_range, write_index
from tunelib.show.page import has_page

LESSONS = Path(__file__).resolve().parent.parent / "lessons"
MOST_BYTES = 600_000
ALL_KNOBS = [(name, knob) for name, exhibit in EXHIBITS.items() for knob in exhibit.knobs]


@pytest.fixture(scope="module")
def made() -> Index:
    """The whole index, made once."""
    return index(lessons=LESSONS)


@pytest.fixture
def two(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only two exhibits, for tests to which it does not matter how many there are."""
    monkeypatch.setattr(
        sys.modules["tunelib.show.index"], "EXHIBITS", {name: EXHIBITS[name] for name in ("wave", "key_grid")}
    )


def homeless() -> str:
    """What is to be done about exhibits that no step shows, or nothing if there are none."""
    names = [name for name in EXHIBITS if not places_of(name)]
    if not names:
        return ""
    return f"in no lesson yet: {', '.join(names)}; show each in a lesson, and name it at its step in tunelib/course.py"


def test_every_exhibit_is_there_once_in_the_order_of_the_course(made: Index) -> None:
    assert [entry.exhibit.name for entry in made.entries] == list(EXHIBITS)
    steps = [entry.places[0][1].number for entry in made.entries if entry.places]
    assert steps == sorted(steps), "EXHIBITS is in the order of the course"
    shown = {step.number for entry in made.entries for _, step in entry.places}
    assert shown == {step.number for step in all_steps()}, "a step without an exhibit"


def test_every_exhibit_is_in_a_lesson() -> None:
    assert not homeless(), homeless()


def test_an_exhibit_stands_in_the_step_that_shows_it(made: Index) -> None:
    """Looked up with a reader of notebooks of its own: a place begins with a heading, and has the exhibit below."""
    for entry in made.entries:
        for lesson, step in entry.places:
            cells = nbformat.read(LESSONS / lesson.notebook, as_version=4).cells
            first = [cell.id for cell in cells].index(step.cell)
            part = "\n".join(cell.source for cell in cells[first:])
            assert part.startswith(f"## Step {step.number} ·")
            assert f'panel("{entry.exhibit.name}"' in part.split("\n## ")[0]


@pytest.mark.usefixtures("two")
def test_an_exhibit_that_is_in_no_lesson_yet_is_shown_all_the_same_and_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """The index says so in all its forms, and the check of the whole course says which it is and what to do."""
    kept = [tuple(step for step in lesson.steps if "wave" not in step.exhibits) for lesson in course.LESSONS]
    lessons = [replace(lesson, steps=steps) for lesson, steps in zip(course.LESSONS, kept, strict=True)]
    monkeypatch.setattr(course, "LESSONS", tuple(lessons))
    without = index(lessons=LESSONS)
    card, *_ = html.fromstring(without._repr_html_()).findall(".//section")
    for text in (card.text_content(), str(without).split("\n\n")[0], without.page().split("</section>")[0]):
        assert "in no lesson yet" in text and "Frequency" in text and not re.search(r"\bstep \d", text)
    assert without.page().count("in no lesson yet") == 1
    assert re.match("in no lesson yet: wave\\b.*; show each in a lesson, and name it at its step in", homeless())


def test_a_picture_says_in_words_what_it_shows_and_has_the_size_that_the_page_keeps_for_it(made: Index) -> None:
    images = html.fromstring(made._repr_html_()).findall(".//img")
    for entry, image in zip(made.entries, images, strict=True):
        assert image.get("alt") == EXHIBITS[entry.exhibit.name].sentence(**entry.exhibit.settle({}))
        with Image.open(io.BytesIO(entry.picture)) as picture:
            assert picture.size == (int(image.get("width")), int(image.get("height")))
            assert len(picture.getcolors() or []) > 3, "nothing is drawn"


def test_both_forms_name_what_to_type_every_knob_and_what_an_exhibit_gives(made: Index) -> None:
    sections = html.fromstring(made._repr_html_()).findall(".//section")
    plain = str(made).split("\n\n")
    for entry, section, words in zip(made.entries, sections, plain, strict=True):
        exhibit, page = entry.exhibit, " ".join(section.text_content().split())
        for text in (page, words):
            assert f'panel("{exhibit.name}")' in text and exhibit.title in text
            assert (f'page("{exhibit.name}"' in text) == has_page(exhibit)
            assert (f"“{exhibit.makes}”" in text) == bool(exhibit.makes)
            assert all(f"step {step.number}" in text for _, step in entry.places[:1])
            assert ("in no lesson yet" in text) == (not entry.places)
            for knob in exhibit.knobs:
                assert knob.label in text and knob_range(knob) in text
        codes = [code.text for code in section.findall(".//code")]
        assert codes[1:] == [knob.name for knob in exhibit.knobs]


@pytest.mark.parametrize(("name", "knob"), ALL_KNOBS, ids=lambda part: getattr(part, "name", part))
def test_a_knob_takes_every_setting_that_the_index_gives_it(name: str, knob: Any) -> None:
    words = knob_range(knob).replace("−", "-")
    if isinstance(knob, Slider):
        ends = re.match(r"(-?[\d.]+) to (-?[\d.]+)", words)
        assert ends
        settings: list[Any] = [int(end) if knob.whole else float(end) for end in ends.groups()]
        assert (knob.high - knob.low) * 0.98 < settings[1] - settings[0]
    else:
        settings = list(knob.options) if isinstance(knob, Choice) else [True, False]
        assert all(str(setting) in words for setting in settings)
    for setting in settings:
        assert EXHIBITS[name].checked({knob.name: setting}) == {knob.name: setting}


def test_links_lead_to_lessons_beside_it_and_the_page_leads_nowhere(made: Index) -> None:
    links = [link.get("href") for link in html.fromstring(made._repr_html_()).findall(".//a")]
    assert len(links) == sum(len(entry.places) for entry in made.entries)
    assert all((LESSONS / link.split("#")[0]).is_file() and re.search(r"#cell-id=step-\d+-1$", link) for link in links)
    assert "href" not in made.page()
    assert set(re.findall(r'src="([^;"]*;base64)', made.page())) == {"data:image/png;base64"}
    assert "@import" not in made.page() and "url(" not in made.page()


def test_the_page_is_light_enough_and_built_for_every_reader(made: Index) -> None:
    """Language, title, one main part, headings without a gap, lists, and each exhibit a part with a name (WCAG 2.2)."""
    text = made.page()
    assert len(text.encode()) < MOST_BYTES and len(made._repr_html_().encode()) < MOST_BYTES
    page = html.document_fromstring(text)
    assert page.get("lang") == "en" and page.findtext(".//title")
    assert len(page.findall(".//main")) == 1 and len(page.findall(".//h1")) == 1
    assert len(page.findall(".//h2")) == len(EXHIBITS) and not page.xpath(".//h3")
    ids = page.xpath(".//@id")
    assert len(ids) == len(set(ids))
    assert [section.get("aria-labelledby") for section in page.findall(".//section")] == ids


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_ink_stands_out_from_paper(theme: str) -> None:
    """At least 4.5 to 1, by the relative luminance of WCAG 2.2, success criterion 1.4.3."""
    style = Index(THEMES[theme], ()).page()
    paper, ink = re.findall(r"background: (#\w{6}); color: (#\w{6})", style)[0]
    assert contrast(ink, paper) >= 4.5


def test_the_page_fits_a_narrow_screen(made: Index, tmp_path: Path, chromium: Any) -> None:
    """At 320 pixels, nothing has to be scrolled sideways (WCAG 2.2, success criterion 1.4.10), folds open or not."""
    (tmp_path / "index.html").write_text(made.page(), encoding="utf-8")
    page = chromium.new_page(viewport={"width": 320, "height": 640})
    page.goto((tmp_path / "index.html").as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(fold => fold.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth") == 320
    assert page.evaluate("[...document.images].every(image => image.complete && image.naturalWidth)")
    page.close()


@pytest.mark.usefixtures("two")
def test_a_page_is_written_whole_and_never_over_another_unasked(tmp_path: Path) -> None:
    path = tmp_path / "exhibits.html"
    assert write_index(path, lessons=LESSONS) == path
    first = path.read_text(encoding="utf-8")
    assert first == index(lessons=LESSONS).page() and "step 24" in first
    path.write_bytes(b"somebody's work")
    with pytest.raises(FileExistsError, match=r"exhibits\.html"):
        write_index(path)
    assert path.read_bytes() == b"somebody's work"
    write_index(path, theme="dark", overwrite=True)
    assert THEMES["dark"].paper in path.read_text(encoding="utf-8")
    assert [found.name for found in tmp_path.iterdir()] == ["exhibits.html"]


@pytest.mark.usefixtures("two")
def test_without_lessons_no_steps_are_named(tmp_path: Path) -> None:
    named = re.compile(r"\bstep \d")
    assert named.search(index(lessons=LESSONS).page()) and not named.search(index(lessons=tmp_path).page())


@pytest.mark.parametrize(
    ("make", "complaint"),
    [
        (lambda folder: index("transparent"), "'light' or 'dark', not 'transparent'"),
        (lambda folder: index("drak"), "dark"),
        (lambda folder: write_index(folder / "index.pdf"), r"a \.html file, not 'index\.pdf'"),
    ],
)
def test_what_cannot_be_made_is_refused(make: Any, complaint: str, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=complaint):
        make(tmp_path)


def test_the_stored_index_is_current(made: Index) -> None:
    """Word by word, and the pictures with the leeway that font renderers need."""
    stored = nbformat.read(LESSONS / "exhibits.ipynb", as_version=4)
    fresh = nbformat.from_dict(stored)
    (output,) = fresh.cells[-1].outputs
    output.data = nbformat.from_dict({"text/html": made._repr_html_(), "text/plain": str(made)})
    assert renew_lessons.differences(stored, fresh) == []


def test_what_a_shot_list_can_do_is_there_by_the_names_that_it_takes(made: Index) -> None:
    """Every part, every group in its order, every number that can be quoted, in words and on the page."""
    for entry, card in zip(made.entries, made._repr_html_().split("</section>"), strict=False):
        exhibit = entry.exhibit
        said = dict(entry.filmed)
        assert [part.partition(" (")[0] for part in said["parts"].split("; ")] == list(exhibit.parts)
        groups = [tuple(group.split(", ")) for group in said["on stage in this order"].split(" – ")]
        assert tuple(groups) == exhibit.builds
        quoted = set(said["to quote"].split(", "))
        values = exhibit.settle({})
        assert quoted == {*values, *exhibit.numbers(**values)}
        assert all(html.fragment_fromstring(f"<div>{card}</div>").text_content().count(part) for part in exhibit.parts)
