"""The order of a handout for learners: what gives an answer away is on a later page than what asks.

A picture, its sentence and what is to be looked for answer a step's question at a glance, and what is to be remembered
answers exercises. So all questions come first, then a new page with pictures and exercises, then another with the rest.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from tunelib.export import Asked, Heading, NewSheet, Paragraph, Part, Span, words_of
from tunelib.practice.exercise import QUESTION

STEP = re.compile(r"Step \d+\b")
"""How the heading of a step begins."""

_GUESS = Heading(2, (Span("Guess first"),))
_HOW = "Tick one box each. The pictures are on the next page: leave them until you have guessed."
_AFTERWARDS = "For when the exercises are done: some of this answers them."


def guesses_first(parts: Sequence[Part]) -> list[Part]:
    """The parts of a handout with the questions of all steps before their pictures, and what follows the steps last.

    They stay as they are where there are no questions.

    >>> step, asked, task = Heading(2, (Span("Step 1 · A"),)), Asked(QUESTION, "Which?"), Asked("Exercise.", "Play.")
    >>> ordered = guesses_first([step, asked, task, Heading(2, (Span("What to remember"),))])
    >>> [words_of(part.spans) if isinstance(part, Heading) else part.kind for part in ordered][:5]
    ['Guess first', 'paragraph', 'Step 1 · A', 'asked', 'sheet']
    """
    sections = [place for place, part in enumerate(parts) if isinstance(part, Heading) and part.level <= 2]
    steps = [place for place in sections if is_step(parts[place])]
    if not steps:
        return list(parts)
    end = next((place for place in sections if place > steps[-1]), len(parts))
    guesses: list[Part] = []
    others: list[Part] = []
    heading: Heading | None = None
    for part in parts[steps[0] : end]:
        if isinstance(part, Asked) and part.title == QUESTION:
            guesses += [part] if heading is None else [Heading(3, heading.spans), part]
            heading = None
            continue
        if isinstance(part, Heading) and is_step(part):
            heading = part
        others.append(part)
    if not guesses:
        return list(parts)
    closing = [NewSheet(), _said(_AFTERWARDS), *parts[end:]] if parts[end:] else []
    return [*parts[: steps[0]], _GUESS, _said(_HOW), *guesses, NewSheet(), *others, *closing]


def is_step(part: Part) -> bool:
    """Whether a part is the heading of a step."""
    return isinstance(part, Heading) and part.level <= 2 and STEP.match(words_of(part.spans).strip()) is not None


def _said(words: str) -> Paragraph:
    return Paragraph((Span(words, emphasis=True),))
