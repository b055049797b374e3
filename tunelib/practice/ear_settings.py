"""What a learner chooses for the ear: sounds and registers, an instrument, a microphone or none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tunelib.pitch import Instrument, Tuning
from tunelib.sound import TIMBRES, Timbre

EAR_TIMBRES = ("organ", "reed", "bowed", "brass", "clarinet", "flute")
"""Sounds that last as long as they are held, and whose partials are exact multiples, so that what is pure is still."""

EAR_REGISTERS = {"low": (98.0, 147.0), "middle": (196.0, 294.0), "high": (392.0, 588.0)}
"""Where the lowest note of a sound is, in hertz: from G to D, in three octaves."""


@dataclass(frozen=True)
class EarSettings:
    """What questions are made with.

    Parameters
    ----------
    tuning : Tuning
        Whose steps are named, sung and played: one whose notes have letters.
    timbres : sequence of str
        Of `EAR_TIMBRES`, one or more: each question takes one of them.
    registers : sequence of str
        Of `EAR_REGISTERS`, one or more.
    microphone : bool
        Whether anything is to be sung or played into one.
    player : Instrument, optional
        Who sings or plays: the register of what is sung, and written names.

    Raises ValueError for a timbre or a register that there is none of, and for a tuning without letters.
    """

    tuning: Tuning
    timbres: Sequence[str] = EAR_TIMBRES[:3]
    registers: Sequence[str] = ("middle",)
    microphone: bool = False
    player: Instrument | None = None

    def __post_init__(self) -> None:
        if self.tuning.fifth is None:
            raise ValueError(f"the notes of {self.tuning.name} have no letters, and so its intervals no names to learn")
        for what, chosen, known in (
            ("timbres", self.timbres, EAR_TIMBRES), ("registers", self.registers, tuple(EAR_REGISTERS)),
        ):  # fmt: skip
            if isinstance(chosen, str) or not chosen or any(one not in known for one in chosen):
                raise ValueError(f"the {what} of questions are one or more of {', '.join(known)}, not {chosen!r}")

    def timbre(self, dice: np.random.Generator) -> Timbre:
        """One of the timbres."""
        return TIMBRES[self.timbres[int(dice.integers(len(self.timbres)))]]

    def register(self, dice: np.random.Generator) -> str:
        """One of the registers."""
        return self.registers[int(dice.integers(len(self.registers)))]


def root_in(register: str, dice: np.random.Generator) -> float:
    """A pitch in hertz anywhere in a register, so that no question is answered from the pitch of the last one."""
    low, high = EAR_REGISTERS[register]
    return float(low * (high / low) ** dice.random())
