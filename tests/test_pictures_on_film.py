"""What is on film at each moment: glides, builds, lights, transitions and what points, against the stage itself."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from film import pictures, sound
from lamps import ALL, NOTES, SIDES, Boxes, Drift, Lamps
from matplotlib.colors import to_rgb

from tunelib.exhibits import EXHIBITS, SILENT, Playing, find_theme
from tunelib.film import Act, ClipPlan, Keyframe, Point, clip
from tunelib.film.acts import TRANSITIONS, Programme
from tunelib.film.building import FADE_SECONDS, STILL_SECONDS
from tunelib.film.camera import FINER
from tunelib.film.emphasis import _RECEDES
from tunelib.film.playhead import Playhead
from tunelib.film.pointing import COMES_SECONDS
from tunelib.film.projector import Projector
from tunelib.show import Size, Stage, find_size
from tunelib.show import stage as stages

SIZE = Size(9.6, 5.4, 100)
WIDE, HIGH = SIZE.pixels


@pytest.fixture(autouse=True)
def lamps(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The tests' own exhibits, and pictures of half the width and height."""
    for exhibit in ALL:
        monkeypatch.setitem(EXHIBITS, exhibit.name, exhibit)
    monkeypatch.setitem(stages.SIZES, "1080p", SIZE)
    monkeypatch.setitem(stages.SIZES, "vertical", Size(5.4, 9.6, 100))
    yield


def shown(at: float, *keyframes: Keyframe, exhibit: str = "lamps", size: str = "1080p", **how: Any) -> np.ndarray:
    """The picture at a moment of a clip, as an array of floats."""
    plan = ClipPlan(exhibit, "it.mov", keyframes or [Keyframe(0)], size=size, **{"sound": "off", "seconds": 20, **how})
    return plan.projector.picture(plan.projector.state(at)).astype(float)


def drawn(values: dict[str, Any] | None = None, playing: Playing = SILENT, *, count: int | None = None,
          exhibit: Any = None, size: str | Size = "1080p", theme: str = "light") -> np.ndarray:  # fmt: skip
    """What a stage draws."""
    stage = Stage(exhibit or Lamps(), size, theme)
    stage.on_stage(count)
    stage.move(stage.exhibit.settle(values or {}), playing)
    return stage.pixels().astype(float)


def test_a_choice_glides_to_the_keyframe_as_the_stage_does_between_two_settings() -> None:
    """In the second before it; halfway the picture is that halfway between the two, and at the keyframe it is there."""
    keyframes = [Keyframe(0, {"side": "left"}), Keyframe(4, {"side": "right"})]
    stage = Stage(Lamps(), "1080p")
    ends = [Lamps().settle({"side": side}) for side in SIDES]
    stage.between(*ends, 0.5)
    assert np.array_equal(shown(3.5, *keyframes), stage.pixels())
    assert np.array_equal(shown(2.9, *keyframes), drawn({"side": "left"}))
    assert np.array_equal(shown(4, *keyframes), drawn({"side": "right"}))


def test_words_and_numbers_change_at_the_keyframe_and_are_never_a_mixture() -> None:
    """On the way nothing is said but what held before; what is heard and captioned changes on arrival."""
    programme = Programme(Act("lamps", [Keyframe(0), Keyframe(4, {"side": "right", "count": 5})]))
    for at in (3.2, 3.5, 3.99):
        assert programme.entries[0].timeline.values(at) == Lamps().settle({})
    assert [cue.values["count"] for cue in programme.cues] == [3, 5]


def test_a_jump_jumps() -> None:
    keyframes = [Keyframe(0, {"side": "left"}), Keyframe(4, {"side": "right"}, ease="jump")]
    assert np.array_equal(shown(3.99, *keyframes), drawn({"side": "left"}))


# What sounds


@pytest.mark.parametrize("fps", [24, 30, 60])
def test_a_lamp_is_lit_on_the_frames_on_which_its_note_is_heard(tmp_path: Path, fps: int) -> None:
    """From the first frame at or after its beginning to the last before its end, in the file as a player shows it."""
    begins = 0.4
    path = tmp_path / "lamps.mov"
    clip("lamps", path, [Keyframe(begins)], seconds=4, fps=fps, captions=False)
    film = pictures(path, (WIDE, HIGH)).astype(int)
    middle = [round((0.4 + 0.07 * n + 0.025) * WIDE) for n in range(3)]
    lit = film[:, round(0.9 * HIGH), middle, 0] < 100  # (frames, lamps)
    loud = np.abs(sound(path))
    for lamp, (onset, lasts, _) in enumerate(NOTES):
        frames = np.flatnonzero(lit[:, lamp])
        assert frames.tolist() == [
            n for n in range(4 * fps) if begins + onset <= n / fps + 1e-9 < begins + onset + lasts
        ]
        heard = loud[round((begins + onset + 0.05) * 48000) : round((begins + onset + lasts - 0.05) * 48000)]
        assert heard.reshape(-1, 480).max(axis=1).min() > 0.01
    silent = loud[round((begins + 1.75) * 48000) : round((begins + 1.95) * 48000)]
    assert silent.max() < 0.01 * loud.max() and not lit[round((begins + 1.8) * fps)].any()


def test_with_a_sound_that_follows_the_chord_is_lit_throughout_and_without_sound_nothing_is() -> None:
    programme = Programme(Act("lamps", [Keyframe(0)]), seconds=5)
    values = Lamps().settle({})
    assert Playhead(programme, 0, "following").at(3.0, values).notes == (2,)  # of single notes, the last
    assert Playhead(programme, 0, "off").at(0.2, values) == SILENT
    assert Playhead(programme, 0, "at keyframes").at(0.2, values) == Playing(0.2, (0,))


def test_what_flows_moves_on_with_the_seconds_since_its_sound_began() -> None:
    """A hundredth of the width in a second, from each keyframe anew, and on when the sound is over."""
    keyframes = [Keyframe(1), Keyframe(8)]
    left = 0.1 * WIDE
    for at, seconds in ((0.5, 0), (1, 0), (3, 2), (7, 6), (8.5, 0.5)):
        picture = shown(at, *keyframes, exhibit="drift", sound="at keyframes")
        box = np.flatnonzero(np.abs(picture[round(0.75 * HIGH), :, 2] - 255) > 100)
        assert box[0] == pytest.approx(left + 0.01 * WIDE * seconds, abs=1), at
    for at, seconds in ((0, 0), (3, 3), (9, 9)):
        picture = shown(at, Keyframe(0), exhibit="drift", sound="following")
        box = np.flatnonzero(np.abs(picture[round(0.75 * HIGH), :, 2] - 255) > 100)
        assert box[0] == pytest.approx(left + 0.01 * WIDE * seconds, abs=1), at


def test_while_it_moves_what_flows_is_as_it_begins_and_fades_to_that() -> None:
    """What has drifted for two seconds does not leap: in three tenths of a second the one fades to the other."""
    keyframes = [Keyframe(0, {"height": 0.2}, hold=2), Keyframe(6, {"height": 0.8})]
    how: dict[str, Any] = {"exhibit": "drift", "sound": "following"}
    before = drawn({"height": 0.2}, Playing(2.0, (2,)), exhibit=Drift())
    middle = shown(2.15, *keyframes, **how)
    after = shown(2.3, *keyframes, **how)
    assert np.abs(shown(2 - 1e-6, *keyframes, **how) - before).max() <= 1
    column = round((0.1 + 0.01) * WIDE), round((0.1 + 0.2 + 0.01) * WIDE)  # left by the one, entered by the other
    row = round(0.77 * HIGH)
    for x in column:
        assert middle[row, x] == pytest.approx((before[row, x] + after[row, x]) / 2, abs=2)
    at_rest = np.flatnonzero(np.abs(after[row, :, 2] - 255) > 100)
    assert at_rest[0] == pytest.approx(0.1 * WIDE, abs=1)


# Builds


def test_groups_come_on_stage_evenly_and_a_second_of_stillness_is_left() -> None:
    """Three groups in five seconds: the first at once, the last from 3.6 to 4 s, and all before the first move."""
    keyframes = [Keyframe(0, hold=5), Keyframe(7, {"height": 1.0})]
    last = 5 - STILL_SECONDS - FADE_SECONDS
    for at, count in ((0, 1), (last / 2 - 0.01, 1), (last / 2 + FADE_SECONDS, 2), (last, 2), (5 - STILL_SECONDS, 3)):
        assert np.array_equal(shown(at, *keyframes, build=True), drawn(count=count)), at
    fading = shown(last + FADE_SECONDS / 2, *keyframes, build=True)
    assert np.abs(fading - (drawn(count=2) + drawn(count=3)) / 2).max() <= 1


def test_groups_come_before_the_first_keyframe_where_it_is_not_at_the_beginning() -> None:
    keyframes = [Keyframe(4, hold=5)]
    assert np.array_equal(shown(4 - STILL_SECONDS, *keyframes, build=True), drawn(count=3))
    assert not np.array_equal(shown(4 - STILL_SECONDS - 0.2, *keyframes, build=True), drawn(count=3))


def test_keyframes_say_how_many_groups_are_on_stage() -> None:
    """From then on, and groups can leave as well."""
    keyframes = [Keyframe(0, build=0), Keyframe(2), Keyframe(4, build=2), Keyframe(6, build=1)]
    for at, count in ((1, 0), (3, 0), (4.4, 2), (5.9, 2), (6.5, 1), (19, 1)):
        assert np.array_equal(shown(at, *keyframes), drawn(count=count)), at
    assert np.abs(shown(4.2, *keyframes) - (drawn(count=0) + drawn(count=2)) / 2).max() <= 1


def test_without_a_word_of_it_all_is_on_stage() -> None:
    assert np.array_equal(shown(0), drawn())


@pytest.mark.parametrize(
    ("keyframes", "how", "message"),
    [
        ([Keyframe(0, build=4)], {}, r"keyframe 1: lamps comes on stage in 3 groups: build is from 0 to 3, not 4"),
        ([Keyframe(0), Keyframe(1, build=True)], {}, "keyframe 2: .* build is from 0 to 3, not True"),
        ([Keyframe(0, build=1)], {"exhibit": "boxes"}, "keyframe 1: boxes comes on stage all at once"),
        ([Keyframe(0)], {"exhibit": "boxes", "build": True}, "boxes comes on stage all at once"),
        ([Keyframe(0, hold=2), Keyframe(3)], {"build": True}, "takes 2.2 s at least, and has 2 s before it moves"),
        ([Keyframe(0, build=1), Keyframe(3)], {"build": True}, "keyframe 1: build is asked for at keyframes, and"),
    ],
)
def test_a_build_that_cannot_be_is_refused(keyframes: list[Keyframe], how: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        shown(0, *keyframes, **how)


# Pointing


def box_of(part: str, stage: Stage | None = None) -> tuple[int, int, int, int]:
    """Left, top, right and bottom of a part in the picture, in whole pixels."""
    if stage is None:
        stage = Stage(Lamps(), "1080p")
        stage.move(Lamps().settle({}))
    box = stage.box(part)
    return round(box.x0), round(HIGH - box.y1), round(box.x1), round(HIGH - box.y0)


def changed(point: Point, at: float, **how: Any) -> np.ndarray:
    """Where a point changes the picture."""
    return np.asarray(np.abs(shown(at, points=[point], **how) - shown(at, **how)).max(axis=2) > 8)


def test_a_ring_goes_round_the_part_and_leaves_it_free() -> None:
    """It is drawn in half a second, in ink, all the way round, and no pixel of the part is covered."""
    left, top, right, bottom = box_of("box")
    ring = changed(Point(2, "box"), 3)
    assert not ring[top:bottom, left:right].any()
    rows, columns = np.nonzero(ring)
    assert columns.min() < left < right < columns.max() and rows.min() < top < bottom < rows.max()
    assert columns.max() - right < 30 and left - columns.min() < 30
    middle = (top + bottom) // 2, (left + right) // 2
    for line in (ring[middle[0], :left], ring[middle[0], right:], ring[:top, middle[1]], ring[bottom:, middle[1]]):
        assert line.any(), "on each side"
    half = changed(Point(2, "box"), 2 + COMES_SECONDS / 2)
    assert 0.3 < half.sum() / ring.sum() < 0.7
    assert not changed(Point(2, "box"), 1.99).any() and not changed(Point(2, "box", until=5), 5).any()
    ink = np.array(to_rgb(find_theme("light").ink)) * 255
    assert np.abs(shown(3, points=[Point(2, "box")])[ring] - [*ink, 255]).max(axis=1).min() < 3


@pytest.mark.parametrize("theme", ["light", "dark", "transparent"])
def test_the_rest_recedes_towards_the_paper(theme: str) -> None:
    """The part itself stays as it was, pixel for pixel; what is far from it keeps three tenths of its contrast."""
    left, top, right, bottom = box_of("box")
    plain = shown(3, theme=theme)
    dimmed = shown(3, points=[Point(2, "box", how=("dim",))], theme=theme)
    assert np.array_equal(dimmed[top:bottom, left:right], plain[top:bottom, left:right])
    word = box_of("word")
    inside = np.s_[word[1] : word[3], word[0] : word[2]]
    if theme == "transparent":
        assert dimmed[inside][..., 3].max() == pytest.approx((1 - _RECEDES) * plain[inside][..., 3].max(), abs=2)
        return
    paper = np.array([*to_rgb(str(find_theme(theme).paper)), 1]) * 255
    assert np.abs(dimmed[inside] - (plain[inside] + _RECEDES * (paper - plain[inside]))).max() <= 2


def test_a_zoom_shows_the_part_as_sharp_as_the_whole() -> None:
    """At its nearest the picture is cut out of one drawn with twice the pixels, and the part is in the middle of it."""
    point = Point(2, "lamps", how=("zoom",))
    near = shown(4, points=[point])
    fine = drawn(size=replace(SIZE, dpi=SIZE.dpi * FINER))
    left, top = round((0.4 + 0.095) * FINER * WIDE - WIDE / 2), FINER * HIGH - HIGH  # the lamps are near the lower edge
    cut = [
        (row, column)
        for row in range(top - 2, top + 1)
        for column in range(left - 2, left + 3)
        if np.array_equal(fine[row : row + HIGH, column : column + WIDE], near)
    ]
    assert cut, "it is part of the finer picture"
    middle = np.flatnonzero((near[round(0.8 * HIGH)] != near[0, 0]).any(axis=1)).mean()
    assert middle == pytest.approx(WIDE / 2, abs=2)
    assert np.array_equal(shown(1.9, points=[point]), drawn()), "before, the whole is seen"


def test_words_are_filled_and_set_beside_the_part_where_nothing_is() -> None:
    """No word of the picture is touched, nor the part; they change with the knobs, and are there in our type."""
    keyframes = [Keyframe(0, {"height": 0.2}, hold=6), Keyframe(10, {"height": 0.9})]
    point = Point(2, "box", how=(), words="{percent} of a hundred")
    words = np.abs(shown(4, *keyframes, points=[point]) - shown(4, *keyframes)).max(axis=2) > 8
    assert words.any()
    for part in ("box", "word", "lamps"):
        left, top, right, bottom = box_of(part)
        assert not words[top:bottom, left:right].any(), part
    later = shown(12, *keyframes, points=[point]) - shown(12, *keyframes)
    assert (np.abs(later).max(axis=2) > 8).any()
    same = replace(point, words="20 of a hundred")
    assert np.array_equal(shown(4, *keyframes, points=[point]), shown(4, *keyframes, points=[same]))
    assert not np.array_equal(shown(12, *keyframes, points=[point]), shown(12, *keyframes, points=[same]))


@pytest.mark.parametrize(
    ("point", "message"),
    [
        (
            Point(1, "bxo"),
            r"^point 1: no part of lamps is called 'bxo'; did you mean box\? There are shelf, box, lamps",
        ),
        (Point(1, "box", how=("cirle",)), "no way to point is called 'cirle'; did you mean circle"),
        (Point(1, "box", how=("dim", "Dim")), "dim and dim: each way to point once"),
        (
            Point(1, "box", words="{percnt}"),
            r"no number of lamps is called 'percnt'; did you mean percent or count\? There are",
        ),
        (Point(1, "box", words="{Percent}"), r"write \{percent\}, not \{Percent\}"),
        (Point(1, "box", words="{percent:.1f}"), "braces hold a name alone"),
        (Point(1, "box", words="{percent!r}"), "braces hold a name alone"),
        (Point(1, "box", words="{percent.real}"), "no number of lamps is called 'percent.real'"),
        (Point(1, "box", words="{"), "a brace in '{' has no partner"),
        (Point(1, "box", words="so " * 50), "there is room for 120"),
        (Point(1, "box", how=()), "it points in no way and says nothing"),
        (Point(25, "box"), "at 25 s lamps is not on: it is from 0 to 20 s"),
        (Point(1, "box", until=1.5), "too short to point"),
        (Point(float("nan"), "box"), "at is a number of seconds"),
    ],
)
def test_a_point_that_cannot_be_is_refused_with_what_there_is(point: Point, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        shown(0, points=[point])


def test_braces_themselves_can_be_written() -> None:
    shown(3, points=[Point(1, "box", words="{{so}} {side}")])


def test_a_part_that_is_not_in_the_picture_is_refused() -> None:
    """As long as it has not come on stage"""
    with pytest.raises(ValueError, match=r"point 1: at 1 s word is not in the picture"):
        shown(0, Keyframe(0, build=1), points=[Point(1, "word")])


# Several exhibits


def test_two_exhibits_are_side_by_side_each_a_square() -> None:
    """Or one above the other, in an upright picture; each is what it is as a square, of half the long side."""
    beside = Act("boxes", knobs={"height": 0.9})
    side = WIDE // 2
    square = Size(5.4, 5.4, side / 5.4 * (1 + 1e-9))
    ours, theirs = drawn(size=square), drawn({"height": 0.9}, exhibit=Boxes(), size=square)
    picture = shown(1, beside=beside)
    top = (HIGH - side) // 2
    assert np.array_equal(picture[top : top + side, :side], ours)
    assert np.array_equal(picture[top : top + side, side:], theirs)
    upright = shown(1, beside=beside, size="vertical")
    left = (HIGH - side) // 2
    assert np.array_equal(upright[:side, left : left + side], ours)
    assert np.array_equal(upright[side:, left : left + side], theirs)
    with pytest.raises(ValueError, match="do not fit beside each other in the size 'square'"):
        shown(1, beside=beside, size="square")
    with pytest.raises(ValueError, match="no room to zoom"):
        shown(1, beside=beside, points=[Point(1, "box", how=("zoom",))])


def test_sound_and_captions_are_of_the_exhibit_whose_keyframe_came_last() -> None:
    """Of two at the same moment, the first's; one without keyframes is silent; one that follows is heard once there."""
    programme = Programme(
        Act("lamps", [Keyframe(0), Keyframe(6)]),
        Act("boxes", [Keyframe(0), Keyframe(3, {"count": 5})]),
        [Act("drift", at=10, transition="cross-fade")],
        seconds=14,
    )
    assert [(cue.at, cue.until, cue.act) for cue in programme.cues] == [
        (0, 3, 0), (3, 6, 1), (6, 10, 0), (10 + TRANSITIONS["cross-fade"], 14, 2)
    ]  # fmt: skip
    heads = [programme.heard(at)[0].name for at in (0, 2.9, 3, 5.9, 6, 9.9, 10, 13)]
    assert heads == ["lamps", "lamps", "boxes", "boxes", "lamps", "lamps", "drift", "drift"]
    assert programme.heard(4)[1]["count"] == 5
    silent = Programme(Act("lamps", [Keyframe(0)]), Act("boxes"), seconds=5)
    assert {cue.act for cue in silent.cues} == {0}
    lit = [Playhead(programme, act, "at keyframes").at(3.2, Lamps().settle({"count": 5})).notes for act in (0, 1)]
    assert lit == [(), (0,)]


@pytest.mark.parametrize("transition", TRANSITIONS)
def test_one_exhibit_follows_another(transition: str) -> None:
    """At the moment itself the one is still there (but for a cut), at its end the other."""
    then = [Act("boxes", at=5, transition=transition, knobs={"side": "right"})]
    ours, theirs = drawn(), drawn({"side": "right"}, exhibit=Boxes())
    assert np.array_equal(shown(4.99, then=then), ours)
    assert np.array_equal(shown(5 + TRANSITIONS[transition], then=then), theirs)
    assert np.abs(shown(5, then=then) - (theirs if transition == "cut" else ours)).max() <= 2
    if transition == "cross-fade":
        assert np.abs(shown(5.3, then=then) - (ours + theirs) / 2).max() <= 1
    plan = ClipPlan("lamps", "it.mp4", [Keyframe(0)], then=then)
    assert plan.programme.seconds == 5 + TRANSITIONS[transition] + 3


def test_in_a_morph_a_part_of_both_goes_from_place_to_place_and_grows() -> None:
    """Halfway the box is midway between its two places, and midway between its two widths, and of a full colour."""
    then = [Act("boxes", at=5, transition="morph", knobs={"side": "right"})]
    picture = shown(5.5, then=then)
    orange = np.array(to_rgb(find_theme("light").twelve.full)) * 255
    row = picture[round(0.75 * HIGH)]
    full = np.flatnonzero(np.abs(row[:, :3] - orange).max(axis=1) < 6)
    left, right = (SIDES["left"] + SIDES["right"]) / 2, (SIDES["left"] + 0.2 + SIDES["right"] + 0.25) / 2
    assert full[0] == pytest.approx(left * WIDE, abs=2) and full[-1] == pytest.approx(right * WIDE, abs=2)
    assert full.size == full[-1] - full[0] + 1


@pytest.mark.parametrize(
    ("how", "message"),
    [
        ({"then": [Act("wave", at=5, transition="morph")]},
         r"then 1: a morph needs parts that both exhibits have; lamps has shelf, box, lamps, word and wave has"),
        ({"then": [Act("boxes", at=5, transition="melt")]}, "then 1: no transition is called 'melt'"),
        ({"then": [Act("boxes", at=5), Act("drift", at=5)]}, "then 2: it comes at 5 s, not after what it follows"),
        ({"then": [Act("boxes", [Keyframe(2)], at=5)]}, "then 1: keyframe 1: it comes at 2 s, before the exhibit"),
        ({"then": [Act("boxes", at=30)]}, "then 1: it comes at 30 s, and the clip is over at 20 s"),
        ({"then": [Act("boxes", at=5, points=[Point(3, "box")])]}, "then 1: point 1: at 3 s boxes is not on:"),
        ({"then": [Act("lamps", at=4)], "keyframes": [Keyframe(0), Keyframe(6)]}, "keyframe 2 lasts until 6 s, and"),
        ({"beside": Act("boxes", [Keyframe(0, {"count": 9})])}, "beside: keyframe 1: count goes from 1 to 5"),
        ({"beside": Act("boxes"), "then": [Act("drift", at=5, transition="morph")]}, "then 1: .*neither can morph"),
    ],
)  # fmt: skip
def test_acts_that_do_not_go_together_are_refused(how: dict[str, Any], message: str) -> None:
    keyframes = how.pop("keyframes", [Keyframe(0)])
    with pytest.raises(ValueError, match=message):
        shown(0, *keyframes, **how)


def test_pictures_of_a_clip_do_not_depend_on_those_drawn_before() -> None:
    """Whatever was looked at first: the contact sheet looks at some moments only."""
    how: dict[str, Any] = {
        "points": [Point(2, "box", 5, ("circle", "zoom"), "{percent}")],
        "then": [Act("boxes", at=8, transition="morph"), Act("drift", at=12)],
        "build": True,
    }
    keyframes = [Keyframe(0, hold=4), Keyframe(6, {"side": "right"})]
    plan = ClipPlan("lamps", "it.mp4", keyframes, seconds=16, **how)
    moments = [0.5, 1.5, 2.2, 3.9, 4.8, 5.7, 8.4, 9.5, 12.3, 15]
    forth = {at: plan.projector.picture(plan.projector.state(at)).copy() for at in moments}
    for at in reversed(moments):
        assert np.array_equal(plan.projector.picture(plan.projector.state(at)), forth[at]), at


def test_a_whole_clip_with_all_of_this_is_written(tmp_path: Path) -> None:
    """In step with its sound, with captions of each exhibit spoken of."""
    report = clip(
        "lamps", tmp_path / "all.mp4", [Keyframe(0, hold=4), Keyframe(6, {"side": "right"})], seconds=14, fps=24,
        build=True, points=[Point(4, "box", 6, ("circle", "dim"), "{percent} high")],
        then=[Act("boxes", at=9, transition="morph", knobs={"count": 2})],
    )  # fmt: skip
    assert report.frames == 14 * 24 and report.drawn > 60
    captions = re.sub(r"\s+", " ", (tmp_path / "all.vtt").read_text())
    assert "Of 3 the left one is 50 high." in captions and "Of 2 the left one is 50 high." in captions
    assert find_size("1080p") == SIZE and isinstance(Projector, type)
