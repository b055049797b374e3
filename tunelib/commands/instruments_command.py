"""``instruments``: a list of the instruments and voices."""

from __future__ import annotations

import argparse

from tunelib.pitch import INSTRUMENTS

NAME = "instruments"
SUMMARY = "list the instruments and voices, with clef and written range"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """This command takes no arguments."""


def run(options: argparse.Namespace) -> None:
    """List the instruments and voices: name, clef, and the comfortable range as written."""
    width = max(map(len, INSTRUMENTS))
    print(f"{'instrument or voice':<{width}}  {'clef':<10}  comfortable range, as written")
    for player in INSTRUMENTS.values():
        print(f"{player.name:<{width}}  {player.clef:<10}  {player.lowest} to {player.highest}".rstrip())
