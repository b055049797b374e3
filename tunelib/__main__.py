"""Hands ``python -m tunelib`` over to the room of the commands."""

import sys

from tunelib.commands import main

if __name__ == "__main__":
    sys.exit(main())
