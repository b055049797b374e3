"""The command line: one file for each command. ``python -m tunelib`` comes in by `main`."""

from tunelib.commands.line import main

__all__ = ["main"]
