"""Questions for the ear: the right answer by arithmetic of our own, equal loudness as measured, and no tell."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from tunelib.pitch import THIRTY_ONE, equal, just
from tunelib.practice.ear_asked import QuestionAsked
from tunelib.practice.ear_history import Item
from tunelib.practice.ear_names import cadence, chords_of, raised_harmonic
from tunelib.practice.ear_played import PlayedQuestion
from tunelib.practice.ear_questions import EAR_KINDS, ask, ear_items
from tunelib.practice.ear_settings import EAR_REGISTERS, EAR_TIMBRES, EarSettings
from tunelib.practice.ear_sounds import EarSound
from tunelib.sound import loudness, render

SETTINGS = EarSettings(THIRTY_ONE, EAR_TIMBRES, tuple(EAR_REGISTERS))
CHOSEN = [item for item in ear_items(SETTINGS) if EAR_KINDS[item.kind].by == "choosing"]
PLAYED = [item for item in ear_items(SETTINGS) if EAR_KINDS[item.kind].by == "playing"]
DIFFERENCE = 12.0


def asked(item: Item, seed: int, settings: EarSettings = SETTINGS, cents: float = DIFFERENCE, names: int = 3) -> Any:
    """A question about an item."""
    kind = EAR_KINDS[item.kind]
    return ask(
        item,
        np.random.default_rng(seed),
        settings,
        cents=cents if kind.differences else None,
        names=names if kind.names else None,
    )


def sizes(sound: EarSound) -> list[float]:
    """The intervals above the first pitch of a sound, in cents."""
    return [1200 * math.log2(hertz / sound.hertz[0]) for hertz in sound.hertz[1:]]


def off_pure(sound: EarSound, ratio: str) -> float:
    """How much wider than a ratio a sound of two pitches is, in cents."""
    return sizes(sound)[0] - 1200 * math.log2(Fraction(ratio))


def right_by_arithmetic(question: QuestionAsked) -> str:
    """The right answer, worked out from what sounds alone."""
    what, sounds = question.item.what, question.sounds
    match question.item.kind:
        case "pure":
            return f"Sound {1 + int(abs(off_pure(sounds[0], what)) > abs(off_pure(sounds[1], what)))}"
        case "wider":
            return f"Sound {1 + int(sizes(sounds[1])[0] > sizes(sounds[0])[0])}"
        case "narrower":
            return f"Sound {1 + int(sizes(sounds[1])[0] < sizes(sounds[0])[0])}"
        case "same":
            return "the same" if abs(sizes(sounds[0])[0] - sizes(sounds[1])[0]) < 0.01 else "different"
        case "side":
            return "too high" if sizes(sounds[0])[0] > int(what) * 1200 / 31 else "too low"
        case "third":
            steps = round(sizes(sounds[0])[0] * 31 / 1200)
            return {7: "subminor", 8: "minor", 9: "neutral", 10: "major", 11: "supermajor"}[steps]
        case "seventh":
            steps = round(sizes(sounds[0])[2] * 31 / 1200)
            return {25: "harmonic, 25 steps", 26: "minor, 26 steps", 27: "neutral, 27 steps"}[steps]
        case "chord":
            return BY_STEPS[tuple(round(size * 31 / 1200) for size in sizes(sounds[0]))]
        case "division":
            fits = {
                n: sum(abs(size * n / 1200 - round(size * n / 1200)) for size in sizes(sounds[0]))
                for n in (12, 19, 31, 53)
            }
            return str(min(fits, key=lambda n: fits[n]))
        case "harmonic":
            numbers = sounds[0].timbre.numbers(sounds[0].hertz[0])
            amplitudes = sounds[0].timbre.partials(sounds[0].hertz[0])[1]
            return f"harmonic {numbers[np.argmax(amplitudes * numbers)]:.0f}"
    raise AssertionError(question.item)


BY_STEPS = {
    (7, 18): "Csub", (8, 18): "Cm", (9, 18): "Cneu", (10, 18): "C", (11, 18): "Csup", (8, 16): "Cdim", (10, 20): "Caug",
    (10, 18, 28): "Cmaj7", (10, 18, 26): "C7", (10, 18, 25): "Charm7", (8, 18, 26): "Cm7", (8, 16, 26): "Cm7b5",
    (9, 18, 27): "Cneumid7", (7, 18, 25): "Csubharm7",
}  # fmt: skip


@pytest.mark.parametrize("item", CHOSEN, ids=str)
def test_the_right_answer_is_what_the_pitches_say(item: Item) -> None:
    """Whatever is drawn, the answer held to be right follows from the sound by logarithms and ratios alone."""
    for seed in range(5):
        question = asked(item, seed, cents=float(np.random.default_rng(seed).uniform(1, 40)))
        assert question.answers[question.right] == right_by_arithmetic(question)
        assert [question.check(place).right for place in range(len(question.answers))] == [
            place == question.right for place in range(len(question.answers))
        ]


@pytest.mark.parametrize("kind", [name for name, kind in EAR_KINDS.items() if kind.differences])
def test_the_difference_is_the_one_that_was_asked_for(kind: str) -> None:
    """Two sounds that are compared differ by so many cents, and bounds are kept."""
    item = next(item for item in CHOSEN if item.kind == kind)
    least, most = EAR_KINDS[kind].differences or (0, 0)
    for wanted, got in ((7.5, 7.5), (0.001, least), (1000.0, most)):
        question = asked(item, 4, cents=wanted)
        apart = abs(sizes(question.compared[0])[0] - sizes(question.compared[1])[0])
        assert question.cents == got and apart == pytest.approx(got)


@pytest.mark.parametrize("item", CHOSEN[::5] + PLAYED[::9], ids=str)
def test_all_that_is_heard_is_equally_loud(item: Item) -> None:
    """Sounds of a question, and those to compare it with, are within 1 dB of one another when measured."""
    question = asked(item, 1)
    heard = {id(sound): sound for sound in (*question.sounds, *question.compared)}.values()
    measured = [loudness(render(sound.score, sound.timbre, gain=sound.gain)) for sound in heard]
    assert max(measured) - min(measured) < 1 and max(measured) == pytest.approx(-30, abs=1)


def test_single_harmonics_are_as_loud_as_the_tone_they_are_compared_with() -> None:
    """Nobody finds the raised harmonic by its loudness."""
    question = asked(Item("harmonic", "5"), 3)
    measured = [
        loudness(render(sound.score, sound.timbre, gain=sound.gain)) for sound in (*question.sounds, *question.helps)
    ]
    assert max(measured) - min(measured) < 1
    fundamental = question.sounds[0].hertz[0]
    assert [round(sound.hertz[0] / fundamental) for sound in question.helps] == [
        int(answer.removeprefix("harmonic ")) for answer in question.answers
    ]


STRATEGIES: dict[str, Callable[[QuestionAsked], int]] = {
    "the first": lambda question: 0,
    "the last": lambda question: len(question.answers) - 1,
    "the lower first pitch": lambda question: int(np.argmin([sound.hertz[0] for sound in question.sounds])),
    "the higher last pitch": lambda question: int(np.argmax([sound.hertz[-1] for sound in question.sounds])),
}


@pytest.mark.parametrize("kind", ["pure", "wider", "narrower", "same", "side"])
@pytest.mark.parametrize("strategy", STRATEGIES)
def test_two_sounds_cannot_be_told_without_listening(kind: str, strategy: str) -> None:
    """Who goes by place or by the height of one note is right about as often as chance has it."""
    items = [item for item in CHOSEN if item.kind == kind]
    right = [
        STRATEGIES[strategy](question) == question.right
        for question in (asked(items[seed % len(items)], seed) for seed in range(400))
    ]
    assert 0.39 < np.mean(right) < 0.61  # more than four deviations of chance on either side


@pytest.mark.parametrize("kind", [name for name, kind in EAR_KINDS.items() if kind.names])
def test_no_place_among_the_names_is_likelier(kind: str) -> None:
    """With all items asked alike, the right name is in every place as often, however few are offered."""
    items = [item for item in CHOSEN if item.kind == kind]
    if kind == "chord":  # offered with those that have as many notes
        items = [item for item in items if item.what in chords_of(THIRTY_ONE, 3)]
    places = Counter(asked(items[seed % len(items)], seed).right for seed in range(200 * len(items)))
    assert set(places) == {0, 1, 2}
    expected = 200 * len(items) / 3
    assert all(abs(count - expected) < 5 * math.sqrt(expected) for count in places.values())


def test_names_offered_grow_from_two_to_all() -> None:
    """As many as asked for, each once, always with the right one, in their usual order."""
    for names, offered in ((2, 2), (4, 4), (9, 5)):
        question = asked(Item("third", "neutral"), 8, names=names)
        order = [["subminor", "minor", "neutral", "major", "supermajor"].index(word) for word in question.answers]
        assert len(order) == offered and all(low < high for low, high in pairwise(order)) and 2 in order


def test_sounds_move_and_change_timbre_from_question_to_question() -> None:
    """The root is another each time, in all registers that were chosen, and so is the timbre."""
    questions = [asked(Item("third", "neutral"), seed) for seed in range(60)]
    assert len({question.sounds[0].hertz[0] for question in questions}) == 60
    assert {question.register for question in questions} == set(EAR_REGISTERS)
    assert {question.sounds[0].timbre.name.removesuffix("-like") for question in questions} == set(EAR_TIMBRES)
    for question in questions:
        low, high = EAR_REGISTERS[question.register]
        assert low <= question.sounds[0].hertz[0] <= high


def test_beats_and_cents_are_told_as_they_are() -> None:
    """What a mistuned fifth is told to beat is |2 upper - 3 lower|; what its size is told to be follows too."""
    question = asked(Item("pure", "3/2"), 5, cents=6.0)
    mistuned = next(sound for sound in question.sounds if abs(off_pure(sound, "3/2")) > 1)
    low, high = mistuned.hertz
    assert f"beat {round(abs(2 * high - 3 * low), 1):g} times a second" in question.why
    assert f"6 cents {'wide' if high / low > 1.5 else 'narrow'}" in question.why


@pytest.mark.parametrize("steps", [12, 19, 31, 53])
def test_the_cadence_is_in_its_division_and_begins_on_the_tonic(steps: int) -> None:
    """All its notes are whole steps from the tonic, and each is near the same key of a piano in every division."""
    for chord, plain in zip(cadence(equal(steps), 220.0), cadence(equal(12), 220.0), strict=True):
        for hertz, key in zip(chord, plain, strict=True):
            at = steps * math.log2(hertz / 220.0)
            assert at == pytest.approx(round(at), abs=1e-6)
            assert abs(1200 * math.log2(hertz / key)) < 40


def test_one_harmonic_is_raised_by_fourteen_decibels() -> None:
    """Amplitudes fall as 1/n, but for one."""
    numbers = raised_harmonic(5).numbers(200.0)
    over = 20 * np.log10(raised_harmonic(5).partials(200.0)[1] * numbers)
    assert over[4] - over[0] == pytest.approx(14) and np.ptp(np.delete(over, 4)) < 1e-9


@pytest.mark.parametrize("item", PLAYED, ids=str)
def test_what_is_heard_is_what_is_right_to_play(item: Item) -> None:
    """The pitches of the sound are those of the keys that are right, and the lowest of them is marked."""
    question = asked(item, 2)
    assert isinstance(question, PlayedQuestion)
    keys = question.answer.instrument()
    assert [keys.notes.hz(step) for step in question.answer.steps] == pytest.approx(question.sounds[0].hertz)
    assert keys.lit == [question.answer.steps[0]]
    assert question.answer.check_steps(question.answer.steps).right
    assert not question.answer.check_steps([step + 1 for step in question.answer.steps]).right
    above = [31 * math.log2(hertz / question.sounds[0].hertz[0]) for hertz in question.sounds[0].hertz[1:]]
    if item.kind == "play":
        assert above == pytest.approx([int(item.what)])
    else:
        assert (
            tuple(round(step) for step in above) in BY_STEPS
            and BY_STEPS[tuple(round(step) for step in above)] == item.what
        )


@pytest.mark.parametrize("steps", [12, 17, 19, 22, 41, 53, 72])
def test_other_tunings_have_questions_too(steps: int) -> None:
    """Nothing hangs on thirty-one: every item of another division is asked, and told apart from the others."""
    settings = EarSettings(equal(steps))
    items = ear_items(settings)
    assert {"pure", "chord", "play"} <= {item.kind for item in items} and len(set(items)) == len(items)
    for item in items[::3]:
        question = asked(item, 1, settings)
        assert question.sounds[0].program
        if isinstance(question, QuestionAsked):
            heard = [sound.hertz for sound in question.compared]
            assert len(set(heard)) == len(heard) or item.kind == "harmonic"


def test_what_cannot_be_asked_is_refused() -> None:
    """Unknown items, missing or idle differences and names, and settings that do not exist."""
    dice = np.random.default_rng(0)
    for item, given, words in (
        (Item("colour", "red"), {}, "no question is of the kind"),
        (Item("third", "sweet"), {"names": 3}, "there are subminor"),
        (Item("third", "neutral"), {}, "is asked with names"),
        (Item("third", "neutral"), {"names": 3, "cents": 4.0}, "is asked without a difference"),
        (Item("pure", "3/2"), {}, "is asked with a difference"),
        (Item("pure", "3/2"), {"cents": math.nan}, "difference"),
        (Item("third", "neutral"), {"names": 1}, "from 2 to 9"),
        (Item("third", "neutral"), {"names": ("major", "minor")}, "neutral among them"),
    ):
        with pytest.raises(ValueError, match=words):
            ask(item, dice, SETTINGS, **given)
    with pytest.raises(ValueError, match="no letters"):
        EarSettings(just(["1/1", "3/2"]))
    with pytest.raises(ValueError, match="timbres"):
        EarSettings(THIRTY_ONE, ("plucked",))
    with pytest.raises(ValueError, match="registers"):
        EarSettings(THIRTY_ONE, registers=())
    with pytest.raises(ValueError, match="is nothing"):
        ask(Item("seventh", "minor"), dice, EarSettings(equal(5)), names=2)
    with pytest.raises(ValueError, match="0 to 1"):
        asked(Item("pure", "3/2"), 1).check(2)
