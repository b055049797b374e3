"""What a learner's own tune sounds like, for the player of the page: the whole of it, and one chord."""

from __future__ import annotations

from tunelib.arrange import tune_score
from tunelib.harmony import RetunedTune
from tunelib.live import program
from tunelib.pitch import equal
from tunelib.score import Score
from tunelib.sound import reference_gain, tune_timbres

TWELVE = equal(12)


def tune_programs(
    tune: RetunedTune, feel: str | None, common: str, count_in: bool, gain: float | None
) -> tuple[dict[str, bytes], float]:
    """A tune for the player, in its own division and in twelve, by the name of the way; and the gain, worked out unless
    given.
    """
    timbres, own = tune_timbres(), len(tune.tuning)
    scores = {division: tune_score(tune, division, feel, common, count_in) for division in (own, len(TWELVE))}
    gain = reference_gain(scores[own], timbres) if gain is None else gain
    return {f"in {division}": program(score, timbres, gain) for division, score in scores.items()}, gain


def score_program(score: Score) -> bytes:
    """A score for the player in the timbres of a tune, as loud as all else."""
    timbres = tune_timbres()
    return program(score, timbres, reference_gain(score, timbres))
