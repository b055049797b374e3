"""The shot list: what can be said in it, and how each mistake is found on its own line.

What is valid TOML is said by TOML 1.0.0 (toml.io) and by the standard library's reader; the lines are held against it.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tunelib.exhibits import EXHIBITS
from tunelib.film.captions import FASTEST_READING, reading_speeds
from tunelib.film.mistakes import ShotListError
from tunelib.film.shot import Episode
from tunelib.film.shots import MOST_BYTES, parse_episode, read_episode
from tunelib.film.toml_lines import Place, lines_of
from tunelib.show.stage import SIZES

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

MATERIAL = Path(__file__).parent.parent / "lessons" / "material"

GOOD = """\
title = "Sawdust"
[defaults]
sizes = ["1080p", "square"]
formats = ["svg", "webm"]
theme = "dark"
[[shot]]
name = "first"
exhibit = "beats"
title = "How they beat"
note = "Count."
knobs = { difference = 3 }
[[shot]]
name = "second"
exhibit = "Beats"
seconds = 9
fps = 25
knobs = { lower = 220 }
formats = ["mp4", "mov"]
[[shot.keyframe]]
at = 1
hold = 2
[[shot.keyframe]]
at = 6.5
ease = "Steady"
knobs.difference = 5
"""


def read(text: str) -> Episode:
    return parse_episode(text.encode())


def mistakes(text: str) -> list[tuple[int, str]]:
    with pytest.raises(ShotListError) as caught:
        read(text)
    return [(mistake.line, mistake.what) for mistake in caught.value.mistakes]


def test_everything_in_a_shot_list_is_read() -> None:
    episode = read(GOOD)
    first, second = episode.shots
    assert episode.title == "Sawdust"
    assert (first.title, first.note, first.settings.theme) == ("How they beat", "Count.", "dark")
    assert not first.moves and first.stops[0].values == EXHIBITS["beats"].settle({"difference": 3})
    assert second.moves and second.title is None and second.programme.seconds == 9 and second.settings.fps == 25
    assert [(stop.at, stop.leaves, stop.values["lower"]) for stop in second.stops] == [(1, 3, 220), (6.5, 6.5, 220)]
    usual = EXHIBITS["beats"].settle({})["difference"]
    assert [stop.values["difference"] for stop in second.stops] == [usual, 5]


ALL_AT_ONCE = """\
[[shot]]
name = "all"
exhibit = "overtones_and_steps"
build = true
seconds = 24
[[shot.keyframe]]
at = 0
hold = 6
[[shot.keyframe]]
at = 8
knobs = { harmonic = 11 }
[[shot.point]]
at = 9
until = 12
part = "Gap"
how = ["circle", "Dim"]
words = "{cents} cents"
[[shot.point]]
at = 13
part = "key"
[shot.beside]
exhibit = "beats"
title = "Beside"
knobs = { difference = 5 }
[[shot.beside.keyframe]]
at = 10
[[shot.beside.point]]
at = 11
part = "gap"
how = "dim"
[[shot.then]]
exhibit = "beating_third"
at = 16
knobs = { third = 390 }
[[shot.then]]
exhibit = "wave"
at = 20
transition = "Cut"
build = true
[[shot.then.keyframe]]
at = 23.5
"""


def test_all_that_a_clip_may_do_is_read() -> None:
    [shot] = read(ALL_AT_ONCE).shots
    first, beside, third, wave = shot.programme.entries
    assert [(point.part, point.how, point.words) for point in first.points] == [
        ("gap", ("circle", "dim"), "{cents} cents"), ("key", ("circle",), "")
    ]  # fmt: skip
    assert first.points[0].until == 12 and first.points[1].until == 16, "until the exhibit leaves"
    assert (beside.act.title, beside.timeline.stops[0].values["difference"]) == ("Beside", 5)
    assert [point.how for point in beside.points] == [("dim",)]
    assert (third.begins, third.transition, third.timeline.stops[0].values["third"]) == (16, "cross-fade", 390)
    assert (wave.begins, wave.transition, wave.timeline.stops[0].at) == (20, "cut", 23.5)
    assert first.timeline.building.at(0)[1] == 1 and wave.timeline.building.at(23.5)[1] == 5
    assert [(cue.at, cue.exhibit.name) for cue in shot.programme.cues] == [
        (0, "overtones_and_steps"), (8, "overtones_and_steps"), (10, "beats"), (16.6, "beating_third"), (23.5, "wave")
    ]  # fmt: skip
    [named] = read(
        f'{CLIP}beside = "wave"\n'.replace("[[shot.keyframe]]\nat = 0\n", "") + "[[shot.keyframe]]\nat = 0\n"
    ).shots
    assert [entry.exhibit.name for entry in named.programme.entries] == ["beats", "wave"]


def test_keyframes_may_build() -> None:
    [shot] = read(f"{CLIP}build = 1\n[[shot.keyframe]]\nat = 4\nbuild = 3\n").shots
    assert shot.programme.entries[0].timeline.building.changes == [(0.0, 1), (4, 3)]


def test_each_size_and_format_is_a_file_and_captions_go_with_the_first_format() -> None:
    assert [output.files for output in read(GOOD).outputs] == [
        ("first-1080p.svg",),
        ("first-square.svg",),
        ("second-1080p.mp4", "second-1080p.vtt"),
        ("second-1080p.mov",),
        ("second-square.mp4", "second-square.vtt"),
        ("second-square.mov",),
    ]


def test_a_size_of_several_words_gives_a_name_without_spaces_and_no_two_files_share_one() -> None:
    sizes = ", ".join(f'"{size}"' for size in SIZES)
    text = "".join(f'[[shot]]\nname = "{name}"\nexhibit = "beats"\nsizes = [{sizes}]\n' for name in ("a", "a-panel"))
    files = [file for output in read(text).outputs for file in output.files]
    assert "a-panel-at-double-density.png" in files and not any(" " in file for file in files)
    assert len({file.casefold() for file in files}) == len(files) == 2 * len(SIZES)


def test_what_is_not_said_is_as_the_head_of_the_module_says() -> None:
    still, clip, clear = read(
        '[[shot]]\nname = "a"\nexhibit = "wave"\n[[shot]]\nname = "b"\nexhibit = "wave"\n[[shot.keyframe]]\nat = 2\n'
        '[[shot]]\nname = "c"\nexhibit = "wave"\ntheme = "transparent"\n[[shot.keyframe]]\nat = 0\n'
    ).shots
    assert (still.settings.sizes, still.settings.formats, clip.settings.formats) == (("1080p",), ("png",), ("mp4",))
    assert clear.settings.formats == ("mov",)
    assert (clip.settings.sound, clip.settings.loudness, clip.settings.fps) == ("at keyframes", -23, 30)
    assert clip.settings.captions and not still.settings.sentence and clip.programme.seconds == 5


def test_defaults_that_suit_the_other_kind_alone_are_passed_over() -> None:
    still, clip = read(
        '[defaults]\nsizes = ["print"]\nformats = ["pdf"]\nloudness = "as rendered"\n[[shot]]\nname = "a"\n'
        'exhibit = "wave"\n[[shot]]\nname = "b"\nexhibit = "wave"\n[[shot.keyframe]]\nat = 2\n'
    ).shots
    assert (still.settings.sizes, still.settings.formats) == (("print",), ("pdf",))
    assert (clip.settings.sizes, clip.settings.formats, clip.settings.loudness) == (("1080p",), ("mp4",), None)


def test_the_episode_that_comes_with_the_lessons_is_in_order_and_shows_each_kind() -> None:
    episode = read_episode(MATERIAL / "episode.toml")
    shots = episode.shots
    assert {shot.moves for shot in shots} == {True, False}
    assert {size for shot in shots for size in shot.settings.sizes} == {"1080p", "square", "vertical"}
    assert {shot.settings.theme for shot in shots} == {"light", "dark", "transparent"}
    assert {shot.settings.sound for shot in shots if shot.moves} == {"following", "at keyframes"}
    assert all(
        max(reading_speeds(shot.programme)) <= FASTEST_READING
        for shot in shots
        if shot.settings.captions and shot.moves and not shot.say
    )
    assert any(shot.say and shot.points and shot.beside and shot.build for shot in shots)
    assert {act.transition for shot in shots for act in shot.then} == {"cross-fade", "morph"}
    assert any(stop.leaves > stop.at for shot in shots for stop in shot.stops)
    assert any(keyframe.ease != "in and out" for shot in shots for keyframe in shot.keyframes)


STILL = '[[shot]]\nname = "x"\nexhibit = "beats"\n'
CLIP = STILL + "[[shot.keyframe]]\nat = 0\n"
POINT, BESIDE = f"{CLIP}[[shot.point]]\n", f"{CLIP}[shot.beside]\n"
POINT_AT = f"{POINT}at = 1\npart = 'gap'\n"
THEN = f"{CLIP}[[shot.then]]\nexhibit = 'wave'\nat = 2\n"
MISTAKES: list[tuple[str, int, str]] = [
    ("", 1, "there are no shots; each begins with a line [[shot]]"),
    ('# nothing\n\ntitle = "x"\n', 1, "there are no shots"),
    ("shot = []\n", 1, "write [[shot]], in double brackets"),
    ('[shot]\nname = "x"\n', 1, "write [[shot]], in double brackets"),
    ("\nshot = [1]\n", 2, "write [[shot]], in double brackets"),
    ('[[shots]]\nname = "x"\n', 1, "no setting of a shot list is called 'shots'; did you mean shot?"),
    (f"{STILL}nmae = 1\n", 4, "no setting of a shot is called 'nmae'; did you mean name or note?"),
    (f"{STILL}Title = 'y'\n", 4, "write title, not 'Title'"),
    (f"[defaults]\nthem = 'dark'\n{STILL}", 2, "no setting of [defaults] is called 'them'; did you mean theme?"),
    (f"{CLIP}att = 1\n", 6, "no setting of a keyframe is called 'att'; did you mean at?"),
    ("[[shot]]\nexhibit = 'wave'\n", 1, "this shot has no name; add a line such as name ="),
    ("\n[[shot]]\nname = 'x'\n", 2, "this shot has no exhibit"),
    (f"{STILL}\n\n[[shot.keyframe]]\nhold = 1\n", 6, "this keyframe does not say when it comes"),
    ("[[shot]]\nname = 'x'\nexhibit = 'beets'\n", 3, "no exhibit is called 'beets'; did you mean beats or blue_notes?"),
    ("[[shot]]\nname = 'x'\nexhibit = 7\n", 3, "exhibit: this is text in quotes, not 7"),
    ("[[shot]]\nname = '../x'\nexhibit = 'wave'\n", 2, "cannot name files"),
    ("[[shot]]\nname = 'a/b'\nexhibit = 'wave'\n", 2, "did you mean a-b?"),
    ("[[shot]]\nname = ''\nexhibit = 'wave'\n", 2, "write, say, slow-beats"),
    ("[[shot]]\nname = 'é'\nexhibit = 'wave'\n", 2, "letters without accents"),
    (f"[[shot]]\nname = '{'x' * 61}'\nexhibit = 'wave'\n", 2, "up to 60 letters"),
    ("[[shot]]\nname = 'CON'\nexhibit = 'wave'\n", 2, "no file may be called 'CON' everywhere"),
    ("[[shot]]\nname = '-x'\nexhibit = 'wave'\n", 2, "did you mean x?"),
    (STILL + STILL.replace('"x"', '"X"'), 5, "the shot on line 1 is called x already; find another name"),
    (f"{STILL}knobs = 3\n", 4, "knobs is a table, such as { difference = 2 }, not 3"),
    (f"{STILL}knobs = {{ lower = 220, diference = 2 }}\n", 4, "'diference'; did you mean difference?"),
    (f"{STILL}knobs = {{ difference = 99 }}\n", 4, "difference goes from 0 to 20 Hz, not to 99"),
    (f"{STILL}[shot.knobs]\nlower = 220\n\ndifference = 99\n", 7, "difference goes from 0 to 20 Hz, not to 99"),
    (f"{STILL}knobs.lower = 220\nknobs.difference = true\n", 5, "difference takes a number"),
    (f"{STILL}knobs = {{ Lower = 220, lower = 230 }}\n", 4, "the knob lower is set twice"),
    (f"{STILL}sizes = '1080p'\n", 4, "sizes is a list in brackets"),
    (f"{STILL}sizes = []\n", 4, "sizes is a list in brackets"),
    (f"{STILL}sizes = [\n  'square', # wide\n  'verticle',\n]\n", 6, "'verticle'; did you mean vertical?"),
    (f"{STILL}sizes = [\n'square',\n\n'Square']\n", 7, "square is here twice"),
    (f"{STILL}formats = ['png', 'mp4']\n", 4, "the formats of a still are png, svg or pdf, not mp4"),
    (f"{STILL}formats = ['gif']\n", 4, "no format is called 'gif'"),
    (f"{STILL}fps = 25\n", 4, "fps is for clips, and this shot has no [[shot.keyframe]]"),
    (f"{STILL}seconds = 2\n", 4, "seconds is for clips"),
    (f"{STILL}title = '''\none\ntwo'''\n", 4, "a title is one line of plain text"),
    (f"{STILL}title = '{'so ' * 90}'\n", 4, "1080p: the title"),
    (f"{STILL}title = {'9' * 300}\n", 4, "title: this is text in quotes, not 999"),
    (f"{STILL}note = 1979-05-27 07:32:00\n", 4, "note: this is text in quotes, not 1979-05-27 07:32:00"),
    (f"{STILL}theme = 'drak'\n", 4, "no theme is called 'drak'; did you mean dark?"),
    (f"{STILL}sentence = 'yes'\n", 4, "sentence: this is true or false, not 'yes'"),
    (f"[defaults]\nfps = 29.97\n{STILL}", 2, "a clip has 24, 25, 30, 50 or 60 frames a second, not 29.97"),
    (f"[defaults]\nloudness = 0\n{STILL}", 2, "the loudness must be from -40 to -14 LKFS, not 0"),
    (f"[defaults]\nloudness = nan\n{STILL}", 2, "loudness: this is a number, not nan"),
    (f"[defaults]\nsound = 'on'\n{STILL}", 2, "no sound is called 'on'"),
    (f"defaults = 1\n{STILL}", 1, "defaults is a table"),
    (f"{STILL}sentence = true\n[[shot.keyframe]]\nat = 0\n", 4, "sentence is for stills, and this shot has keyframes"),
    (f"{STILL}sizes = ['print']\n[[shot.keyframe]]\nat = 0\n", 4, "the sizes of a clip are 1080p, 2160p, "),
    (f"{STILL}[shot.keyframe]\nat = 0\n", 4, "write [[shot.keyframe]], in double brackets"),
    (f"{CLIP}hold = 'long'\n", 6, "hold is a number of seconds, not 'long'"),
    (f"{STILL}[[shot.keyframe]]\nat = -1\n", 5, "at is 0 seconds or more, not -1"),
    (f"{STILL}[[shot.keyframe]]\nat = inf\n", 5, "at is a number of seconds, not inf"),
    (f"{CLIP}ease = 'gently'\n", 6, "no ease is called 'gently'"),
    (f"{CLIP}ease = 3\n", 6, "no ease is called 3"),
    (f"{CLIP}knobs = {{ difference = 21 }}\n", 6, "difference goes from 0 to 20 Hz, not to 21"),
    (f"{CLIP}[[shot.keyframe]]\nknobs.lower = 200\nat = 0\n", 8, "keyframe 2: it comes at 0 s, not after"),
    (f"{CLIP}hold = 3\n[[shot.keyframe]]\nat = 2\n", 8, "keyframe 2: it comes at 2 s, while the one before is held"),
    (f"{STILL}seconds = 0.1\n[[shot.keyframe]]\nat = 0\n", 4, "a clip lasts from 0.5 to 1800 seconds, not 0.1"),
    (f"{STILL}seconds = 3\n[[shot.keyframe]]\nat = 4\n", 4, "keyframe 1 lasts until 4 s, and the clip only 3 s"),
    (f"{STILL}theme = 'transparent'\nformats = ['mp4']\n[[shot.keyframe]]\nat = 0\n", 4, "not as mp4: give formats"),
    (f"[defaults]\ntheme = 'transparent'\n{STILL}formats = ['mp4']\n[[shot.keyframe]]\nat = 0\n", 6, "not as mp4"),
    (f"[defaults]\ntheme = 'transparent'\nformats = ['mp4']\n{CLIP}", 2, 'give formats = ["mov"]'),
    (f"{STILL}build = true\n", 4, "build is for clips, and this shot has no [[shot.keyframe]]"),
    (f"{STILL}beside = 'wave'\n", 4, "beside is for clips"),
    (f"{STILL}[[shot.then]]\nexhibit = 'wave'\nat = 3\n", 4, "then is for clips"),
    (f"{CLIP}build = 9\n", 6, "beats comes on stage in 5 groups: build is from 0 to 5, not 9"),
    (f"{CLIP}[[shot.keyframe]]\nat = 2\nbuild = 'all'\n", 8, "build is from 0 to 5, not 'all'"),
    (f"{STILL}build = 2\n[[shot.keyframe]]\nat = 0\n", 4, "build: this is true or false, not 2"),
    (f"{STILL}build = true\n[[shot.keyframe]]\nat = 0\nhold = 2\n", 4, "which takes 3 s at least, and has 2 s before"),
    (f"{STILL}build = true\n[[shot.keyframe]]\nat = 9\nbuild = 2\n", 7, "build is asked for at keyframes, and for the"),
    (f"{POINT}part = 'gap'\n", 6, "this point has no at; add a line such as at = 2.5"),
    (f"{POINT}at = 1\n", 6, "this point has no part; add a line such as part ="),
    (f"{POINT}at = 1\npart = 'gpa'\n", 8, "did you mean gap? There are held"),
    (f"{POINT_AT}how = 'cirle'\n", 9, "no way to point is called 'cirle'; did you mean"),
    (f"{POINT_AT}how = ['dim', 'dim']\n", 9, "each way to point once"),
    (f"{POINT_AT}words = '{{beets}}'\n", 9, "no number of beats is called 'beets'; did"),
    (f"{POINT_AT}words = '{{'\n", 9, "has no partner"),
    (f"{POINT}at = 9\npart = 'gap'\n", 7, "at 9 s beats is not on: it is from 0 to 3 s"),
    (f"{POINT}at = 1\nuntil = 1.2\npart = 'gap'\n", 8, "is too short to point"),
    (f"{POINT_AT}how = []\n", 7, "it points in no way and says nothing"),
    (f"{POINT}at = 'x'\npart = 'gap'\n", 7, "at: this is a number, not 'x'"),
    (f"{POINT_AT}who = 1\n", 9, "no setting of a point is called 'who'; did"),
    (f"{BESIDE}knobs = {{}}\n", 6, "what is beside has no exhibit"),
    (f"{BESIDE}exhibit = 'waev'\n", 7, "no exhibit is called 'waev'; did you mean wave?"),
    (f"{BESIDE}exhibit = 'wave'\nat = 3\n", 8, "no setting of what is beside is called 'at'"),
    (f"{BESIDE}exhibit = 'wave'\nknobs.hertz = 1\n", 8, "hertz goes from 55 to 1760 Hz, not to 1"),
    (f"{BESIDE}exhibit = 'wave'\ntitle = '{'so ' * 90}'\n", 8, "square: the title"),
    (f"{STILL}seconds = 3\n[[shot.keyframe]]\nat = 0\n[shot.beside]\nexhibit = 'wave'\nkeyframe = [{{ at = 5 }}]\n", 4,
     "beside: keyframe 1 lasts until 5 s"),
    (f"{STILL}sizes = ['square']\n[[shot.keyframe]]\nat = 0\n[shot.beside]\nexhibit = 'wave'\n", 1, "do not fit"),
    (f"{STILL}beside = 3\n[[shot.keyframe]]\nat = 0\n", 4, "write [shot.beside], and below it the exhibit"),
    (f"{CLIP}[[shot.then]]\nexhibit = 'wave'\n", 6, "this exhibit does not say when it comes; add a line such as at ="),
    (f"{CLIP}[[shot.then]]\nat = 2\n", 6, "what follows has no exhibit"),
    (f"{THEN}transition = 'fade'\n", 9, "no transition is called 'fade'; did you mean"),
    (f"{CLIP}[[shot.then]]\nexhibit = 'ring_of_31'\nat = 2\ntransition = 'morph'\n", 8, "then 1: a morph needs parts"),
    (f"{THEN}[[shot.then]]\nexhibit = 'wave'\nat = 1\n", 11, "then 2: it comes at 1 s"),
    (f"{THEN}[[shot.then.keyframe]]\nat = 1\n", 10, "before the exhibit"),
    (f"{THEN}[[shot.then.point]]\nat = 1\npart = 'air'\n", 10, "wave is not on"),
    ("[[shot]\n", 1, "this is not TOML"),
    (f"{STILL}knobs = {{ lower = }}\n", 4, "this is not TOML"),
    (f"{STILL}title = 'unclosed\n", 4, "this is not TOML"),
    (f"{STILL}title = '''unclosed\n\n", 4, "this is not TOML"),
    (f"{STILL}name = 'y'\n", 4, "this is not TOML"),
    ('[shot]\nname = "x"\n\n[shot]\n', 4, "each shot begins with [[shot]]"),
    (f"{STILL}theme = 'dark'\ntheme = 'light'\n", 5, "each name may be given only once"),
    (f"{STILL}knobs = {{ lower: 220 }}\n", 4, "set with an equals sign"),
    (f"{CLIP}hold = 2,5\n", 6, "decimals have a point"),
    (f"{STILL}title = 'it's late'\n", 4, "one setting to a line"),
    (f'{STILL}title = "unclosed\n', 4, "the kind of quotation mark that it began with"),
    (f"{STILL}title = “Beats”\n", 4, "text goes in quotes"),
    (f"{STILL}sentence = True\n", 4, "true and false are in lower case"),
]  # fmt: skip


@pytest.mark.parametrize("end", ["\n", "\r\n"], ids=["", "CRLF"])
@pytest.mark.parametrize(("text", "line", "what"), MISTAKES, ids=[what[:40] for _, _, what in MISTAKES])
def test_a_mistake_is_found_on_its_line(text: str, line: int, what: str, end: str) -> None:
    found = mistakes("\ufeff" + text.replace("\n", end))
    assert [where for where, _ in found] == [line]
    assert what in found[0][1]


def test_all_mistakes_are_told_at_once_each_with_the_name_of_the_file() -> None:
    text = "[defaults]\nsizes = ['wide']\n" + "".join(
        f"[[shot]]\nname = 'x{n}'\nexhibit = 'beets'\n[[shot.keyframe]]\nat = {n}\nhold = -1\n" for n in range(3)
    )
    with pytest.raises(ShotListError) as caught:
        parse_episode(text.encode(), "film.toml")
    told = str(caught.value).splitlines()
    assert [line.split(":")[0] for line in told] == [f"film.toml, line {n}" for n in (2, 5, 8, 11, 14, 17, 20)]


def test_a_mistake_does_not_hide_another_in_the_same_shot() -> None:
    found = mistakes(
        "[[shot]]\nname = 'a b'\nexhibit = 'beats'\ntheme = 'drak'\n"
        f"title = '{'so ' * 90}'\nseconds = 0.2\n[[shot.keyframe]]\nat = 0\nfoo = 1\n"
    )
    assert [line for line, _ in found] == [2, 4, 5, 6, 9]


@pytest.mark.parametrize("name", EXHIBITS)
def test_every_exhibit_can_be_a_shot(name: str) -> None:
    text = f'[[shot]]\nname = "x"\nexhibit = "{name}"\ntitle = ""\n'
    assert len(read(text + "[[shot.keyframe]]\nat = 0\n").outputs) == len(read(text).outputs) == 1


def test_a_file_that_is_not_text_is_refused_on_the_line_of_the_first_wrong_byte() -> None:
    for data, line in ((b'title = "x"\n# caf\xe9\n', 2), ("title = 'x'".encode("utf-16"), 1), (b"\n\n\xff", 3)):
        with pytest.raises(ShotListError, match=rf"line {line}: this is not text in UTF-8"):
            parse_episode(data)


def test_a_file_that_is_too_large_or_too_deep_is_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "episode.toml"
    path.write_bytes(b"#" * 10_000_000)
    with pytest.raises(ValueError, match="10,000,000 bytes; a shot list has 1,000,000 at most"):
        read_episode(path)
    deep = [f"x = {'[' * 5000}{']' * 5000}", ".".join("x" * 2000) + " = 1", "x = " + "{ x = " * 300 + "1" + " }" * 300]
    for text in deep:
        assert len(text) < MOST_BYTES
        with pytest.raises(ValueError, match="too deep"):
            read(text)
    with pytest.raises(FileNotFoundError, match=r"no file .*none\.toml"):
        read_episode(tmp_path / "none.toml")
    with pytest.raises(ValueError, match="not an ordinary file"):
        read_episode(tmp_path)


@pytest.mark.parametrize("key", ["seconds", "fps", "loudness", "title", "sizes", "knobs.difference", "x"])
@pytest.mark.parametrize("number", ["9" * 300, "-" + "9" * 400, "9" * 5000, f"0x{'f' * 5000}"], ids=len)
def test_a_number_of_any_length_is_a_mistake_on_its_line(key: str, number: str) -> None:
    text = f"{STILL}{key} = {number}\n[[shot.keyframe]]\nat = 0\n"
    with pytest.raises(ShotListError) as caught:
        read(text)
    assert {mistake.line for mistake in caught.value.mistakes} == {4}
    for keyframe in (f"at = {number}", f"at = 0\nhold = {number}", f"at = 0\nknobs.lower = {number}"):
        with pytest.raises(ShotListError) as caught:
            read(f"{STILL}[[shot.keyframe]]\n{keyframe}\n")
        assert {mistake.line for mistake in caught.value.mistakes} == {4 + len(keyframe.splitlines())}
        assert len(str(caught.value)) < 300 and "sys.set" not in str(caught.value)


@pytest.mark.parametrize("key", ["title", "note", "name", "exhibit", "theme"])
def test_a_character_that_no_page_can_show_is_a_mistake_on_its_line(key: str) -> None:
    kept = "".join(f"{line}\n" for line in STILL.splitlines() if not line.startswith(key))
    for sign, name in (("\\uFFFE", "U+FFFE"), ("\\u0007", "U+0007"), ("\\uFDD0", "U+FDD0")):
        [(line, what)] = mistakes(f'{kept}{key} = "Saw{sign}dust"\n')
        assert line == kept.count("\n") + 1 and f"the character {name} cannot be printed" in what


def test_texts_without_end_are_refused_and_not_repeated() -> None:
    assert mistakes(f'{STILL}note = "{"a" * 400_000}"\n') == [(4, "this has 400,000 characters; 5,000 are the most")]
    for text in (
        f"{STILL}{'x' * 400_000} = 1\n",
        f"{STILL}theme = '{'x' * 4000}'\n",
        f"{STILL}knobs.{'x' * 400_000} = 1\n",
    ):
        [(line, what)] = mistakes(text)
        assert line == 4 and len(what) < 500


def test_of_thousands_of_mistakes_the_first_hundred_are_told() -> None:
    text = "".join(f"[[shot]]\nname = 'x{n}'\nexhibit = 'beets'\n" for n in range(900))
    with pytest.raises(ShotListError) as caught:
        read(text)
    *told, last = str(caught.value).splitlines()
    assert len(told) == 100 and last.endswith(": 800 more mistakes, told when these are mended")
    assert len(caught.value.mistakes) == 900


# Where things stand, held against the standard reader: every place that it knows has a line, and the line has its key.

KEYS = st.one_of(st.from_regex(r"[A-Za-z0-9_-]{1,4}", fullmatch=True), st.text(max_size=4))
TEXTS = st.text(st.sampled_from("ab \"'#=[]{},.\n\\é"), max_size=12)


def quoted(text: str) -> str:
    marks = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t"}
    return '"' + "".join(marks.get(c, c if c.isprintable() else f"\\U{ord(c):08x}") for c in text) + '"'


def written_key(key: str) -> str:
    bare = key.isascii() and key.replace("-", "").replace("_", "").isalnum()
    return key if bare else quoted(key)


def surrogates(text: str) -> bool:
    return any(0xD800 <= ord(c) <= 0xDFFF for c in text)


@st.composite
def values(draw: st.DrawFn, depth: int = 0) -> str:
    kind = draw(st.integers(0, 4 if depth > 2 else 6))
    if kind == 0:
        return draw(
            st.sampled_from(["1", "-0.5", "inf", "true", "1979-05-27 07:32:00Z", "0x_f".replace("_", ""), "1e3"])
        )
    if kind == 1:
        return quoted(draw(TEXTS))
    if kind == 2:
        return "'" + draw(TEXTS).replace("'", "").replace("\n", "") + "'"
    if kind == 3:
        return '"""' + quoted(draw(TEXTS))[1:-1].replace("\\n", "\n").replace('\\"\\"', '""\\"') + '"""'
    if kind == 4:
        return "'''" + draw(TEXTS).replace("''", "").strip("'") + "''\n'" * draw(st.integers(0, 1)) + "'''"
    inner = draw(st.lists(values(depth + 1), max_size=3))
    if kind == 5:
        gap = draw(st.sampled_from(["", " ", "\n", " # ], no\n"]))
        return f"[{gap}" + f"{gap},{gap}".join(inner) + f"{gap},{gap}]" * bool(inner) + "]" * (not inner)
    keys = draw(st.lists(KEYS, min_size=len(inner), max_size=len(inner), unique=True))
    return "{ " + ", ".join(f"{written_key(key)} = {value}" for key, value in zip(keys, inner, strict=True)) + " }"


@st.composite
def documents(draw: st.DrawFn) -> str:
    lines = []
    for _ in range(draw(st.integers(0, 4))):
        for key in draw(st.lists(KEYS, max_size=3, unique=True)):
            lines.append(f'{written_key(key)}{draw(st.sampled_from(["", " . x", ".y.z"]))} = {draw(values())}  # = "')
        lines.append(
            draw(st.sampled_from(["", "# [[no]]", "[[shot]]", "[[ shot ]] # x", "[a.b]", '[[shot."k f"]]', "[c]"]))
        )
    return "\n".join(lines)


def places(tree: Any, place: Place = ()) -> list[Place]:
    inner = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    return [place, *(found for key, value in inner for found in places(value, (*place, key)))]


@settings(max_examples=300, deadline=None)
@given(documents())
def test_every_place_of_a_valid_file_has_a_line(text: str) -> None:
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    lines = lines_of(text)
    assert set(places(tree)) == set(lines)
    rows = text.split("\n")
    for place, line in lines.items():
        if place and isinstance(place[-1], str):
            part = place[-1]
            assert written_key(part) in rows[line - 1] or quoted(part) in rows[line - 1], (place, line)


@settings(max_examples=150, deadline=None)
@given(st.one_of(st.binary(max_size=200), documents().map(lambda text: text.encode("utf-8", "replace"))))
def test_any_bytes_are_read_or_refused_in_words(data: bytes) -> None:
    try:
        parse_episode(data)
    except ValueError as error:
        assert str(error).startswith("episode.toml")


@settings(max_examples=20, deadline=None)
@given(st.data())
def test_one_line_spoilt_in_a_good_list_is_refused_on_a_line_of_the_list_or_harmless(data: st.DataObject) -> None:
    rows = GOOD.splitlines()
    spoilt = data.draw(st.integers(0, len(rows) - 1))
    rows[spoilt] = data.draw(st.sampled_from(["", "x = 1", "[[shot]]", "]", rows[spoilt][1:], rows[spoilt] + "z"]))
    try:
        read("\n".join(rows))
    except ShotListError as error:
        assert all(1 <= mistake.line <= len(rows) for mistake in error.mistakes)


def test_keyframes_under_a_wrong_name_bring_no_mistakes_but_their_own() -> None:
    """What is for clips alone is not called wrong in a shot that was meant to be one."""
    text = f"{STILL}seconds = 9\nsound = 'following'\nformats = ['mov']\n[[shot.keyframes]]\nat = 0\n"
    [(line, what)] = mistakes(text)
    assert line == text[: text.index("[[shot.keyframes]]")].count("\n") + 1 and "did you mean keyframe" in what
