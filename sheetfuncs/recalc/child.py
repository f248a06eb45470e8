"""The process that evaluates one workbook for :mod:`.apart`: held to its memory, it ends with the one that started it.

It reads pickled requests from its input and writes pickled answers: the job, then questions until the input ends.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import sys
import threading
import time
import traceback
from contextlib import suppress
from typing import Any, BinaryIO

from ..cells.climates import CLIMATES
from ..functions import all_functions
from .engine import Evaluation, Job

#: What an answer is: so many calls more, an answer, an error with the trace of where it was raised, a step begun.
CALLED, ANSWER, FAILED, AT = "called", "answer", "failed", "at"


def serve(memory: int, parent: int) -> None:
    """Evaluate the workbook that comes in, and answer the questions that follow.

    memory : the most to take [bytes]. parent : the number of the process that started this one.
    """
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # nothing that is printed may fall among the answers
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the one who started it decides
    _end_with(parent)
    _hold_to(memory)
    gc.disable()
    try:
        with CLIMATES.keeping_all():
            _answer(sys.stdin.buffer, answers)
    except EOFError:
        pass
    except BaseException as error:
        _write(answers, FAILED, (_as_pickled(error), traceback.format_exc()))


def _answer(requests: BinaryIO, answers: BinaryIO) -> None:
    job: Job = pickle.load(requests)
    evaluation = Evaluation(
        job, all_functions(), lambda count: _write(answers, CALLED, count), lambda number: _write(answers, AT, number)
    )
    _write(answers, ANSWER, None)
    while True:
        question, details = pickle.load(requests)
        _write(answers, ANSWER, getattr(evaluation, question)(*details))


def _write(answers: BinaryIO, kind: str, content: Any) -> None:
    pickle.dump((kind, content), answers, pickle.HIGHEST_PROTOCOL)
    answers.flush()


def _as_pickled(error: BaseException) -> BaseException:
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:  # an error of any making
        return RuntimeError(repr(error))
    return error


def _hold_to(memory: int) -> None:
    try:
        import resource
    except ImportError:  # Windows has no such limits
        return
    for kind, most in ((resource.RLIMIT_AS, memory), (resource.RLIMIT_CORE, 0)):
        with suppress(OSError, ValueError):  # a tighter limit is in force
            resource.setrlimit(kind, (most, resource.getrlimit(kind)[1]))


def _end_with(parent: int) -> None:
    """Have this process end soon after the one that started it, which may have been killed, even by now."""
    if os.name == "nt":  # there it has no other parent afterwards, and ends where nobody reads its answers
        return

    def watch() -> None:
        while os.getppid() == parent:
            time.sleep(0.5)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
