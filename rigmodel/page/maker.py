"""The process that makes files to take away: ``python -m rigmodel.page.maker``, see `aside`."""

from __future__ import annotations

import os
import pickle
import signal
import sys

from rigmodel.errors import RigmodelError
from rigmodel.page.downloads import download

# A third of the time that a check is given beside it: somebody waits for the file too, and on a
# machine that is never idle it must get done.
_NICE = 5


def main() -> None:
    """Makes one file after the other until the input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C is for the server, which ends this too
    os.nice(_NICE)
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # what a library prints is no answer
    while True:
        try:
            what, stem, assembly, findings = pickle.load(sys.stdin.buffer)  # from the server itself
        except EOFError:
            return
        try:
            answer = (download(what, stem, assembly, findings), "")
        except RigmodelError as error:
            answer = (b"", str(error))
        try:
            pickle.dump(answer, answers, pickle.HIGHEST_PROTOCOL)
            answers.flush()
        except BrokenPipeError:
            return


if __name__ == "__main__":
    main()
