"""Hands ``python -m tunelib`` over to the commands."""

import signal
import sys

from tunelib.commands import main

if __name__ == "__main__":
    code = main()
    if signal.getsignal(signal.SIGINT) is signal.SIG_DFL:  # the work is done: Ctrl-C comes too late
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    sys.exit(code)
