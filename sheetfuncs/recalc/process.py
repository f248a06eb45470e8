"""The process that evaluates one workbook: held to its memory and its time, it ends with the one that started it.

It reads pickled requests from its input, the job, then questions until the input ends, and writes pickled answers.
On Linux it begins as a copy of this process, so that nothing is loaded twice, unless other threads run, which a copy
would lack; elsewhere it is a Python of its own.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import subprocess
import sys
import tempfile
import threading
import time
import traceback
from contextlib import suppress
from pathlib import Path
from typing import Any, BinaryIO, Callable, NamedTuple

from ..cells.climates import CLIMATES
from ..cells.errors import InputError
from ..functions import all_functions
from .engine import Evaluation, Job

#: What the environment calls the limits.
MEMORY, SECONDS = "SHEETFUNCS_MEMORY_GB", "SHEETFUNCS_SECONDS"
#: What an answer is: so many calls more, an answer, an error with the trace of where it was raised, a step begun.
CALLED, ANSWER, FAILED, AT = "called", "answer", "failed", "at"
TOO_MUCH_MEMORY, TOO_LONG = "it took too much memory", "it took too long"

#: There may be no memory for long ones.
_SHORT_TRACES = {"RUST_BACKTRACE": "0"}
_START = (
    "import sys; sys.path[:] = sys.argv[3:]; from sheetfuncs.recalc.process import serve;"
    " serve(int(sys.argv[1]), int(sys.argv[2]))"
)


class Limits(NamedTuple):
    """The most that evaluating one workbook may take: memory [GB of 2**30 bytes] and time [s]."""

    memory: float = 3.0
    seconds: float = 300.0


def limits_in_force() -> Limits:
    """Return the limits that the environment sets, else the usual ones; raises :class:`InputError`."""
    usual = Limits()
    return Limits(
        _from_environment(MEMORY, usual.memory, "GB", 0.5), _from_environment(SECONDS, usual.seconds, "seconds", 1)
    )


def _from_environment(name: str, usual: float, unit: str, least: float) -> float:
    text = os.environ.get(name, "").strip()
    if not text:
        return usual
    with suppress(ValueError):
        number = float(text)
        if least <= number <= 100_000:
            return number
    raise InputError(f"the environment's {name} is {text[:20]!r}, wanted a number of {unit} from {least:g} to 100000")


class EndedError(Exception):
    """The other process has ended; the text gives the reason."""


class Process:
    """Another process, with its input and output; ended where it is left."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._errors = tempfile.TemporaryFile()  # noqa: SIM115 - closed when the process ends
        memory = int(limits.memory * 2**30)
        self._process = _Copy(self._errors, memory) if can_be_a_copy() else _python(self._errors, memory)
        self._is_over_time = False
        self._clock = threading.Timer(limits.seconds, self._over_time)
        self._clock.daemon = True
        self._clock.start()

    def __enter__(self) -> Process:
        return self

    def __exit__(self, *_: object) -> None:
        self.end()

    def _over_time(self) -> None:
        self._is_over_time = True
        self._process.kill()

    def write(self, request: Any) -> None:
        """Write a request; raises :class:`EndedError`."""
        try:
            pickle.dump(request, self._process.stdin, pickle.HIGHEST_PROTOCOL)
            self._process.stdin.flush()
        except OSError:
            raise EndedError(self._why()) from None

    def read(self) -> tuple[str, Any]:
        """Return what the process writes next; raises :class:`EndedError`, and what was raised over there."""
        try:
            kind, content = pickle.load(self._process.stdout)
        except (EOFError, OSError, pickle.UnpicklingError):
            raise EndedError(self._why()) from None
        if kind == FAILED:
            error, trace = content
            if isinstance(error, MemoryError):
                raise EndedError(TOO_MUCH_MEMORY)
            raise error from RuntimeError(trace)
        return kind, content

    def evaluate(
        self, job: Job, on_calls: Callable[[int], None] | None = None, on_piece: Callable[[int], None] | None = None
    ) -> None:
        """Have a workbook evaluated, with what is called on the way; raises as :meth:`read` does."""
        self.write(job)
        kind, content = self.read()
        while kind != ANSWER:
            follow = on_calls if kind == CALLED else on_piece
            if follow is not None:
                follow(content)
            kind, content = self.read()

    def _why(self) -> str:
        code = self._process.wait()
        self._errors.seek(0)
        errors = self._errors.read(100_000).decode(errors="replace")
        if self._is_over_time:
            return TOO_LONG
        # The system, too, ends a process where there is no memory left.
        if "memory allocation of" in errors or "MemoryError" in errors or code == -getattr(signal, "SIGKILL", 9):
            return TOO_MUCH_MEMORY
        if "overflowed its stack" in errors:
            return "it refers to itself, or into itself, too deeply"
        last = errors.strip().rpartition("\n")[2][:100]
        return f"the engine ended with {code}" + (f": {last}" if last else "")

    def end(self) -> None:
        """End the process, if it has not ended."""
        self._clock.cancel()
        self._process.kill()
        for stream in (self._process.stdin, self._process.stdout, self._errors):
            with suppress(OSError):  # what is still on its way to a process that is no more
                stream.close()
        self._process.wait()


# -- how it starts ---------------------------------------------------------------------------------------------


def can_be_a_copy() -> bool:
    """Return whether another process may begin as a copy of this one; threads would be missing in it."""
    with suppress(OSError):  # a standard stream that is closed: its number may be in use for something else
        return sys.platform == "linux" and len(os.listdir("/proc/self/task")) == 1 and all(map(os.fstat, range(3)))
    return False


def _python(errors: BinaryIO, memory: int) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-c", _START, str(memory), str(os.getpid()), *sys.path],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=errors,
        env={**os.environ, **_SHORT_TRACES},
        creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
    )  # fmt: skip


class _Copy:
    """A process that begins as a copy of this one; used as :class:`subprocess.Popen` is."""

    def __init__(self, errors: BinaryIO, memory: int) -> None:
        parent, code = os.getpid(), 1
        (requests, stdin), (stdout, answers) = os.pipe(), os.pipe()
        try:
            self._number = os.fork()
            if self._number == 0:
                for theirs, number in ((requests, 0), (answers, 1), (errors.fileno(), 2)):
                    os.dup2(theirs, number)
                os.environ.update(_SHORT_TRACES)
                for descriptor in map(int, os.listdir("/proc/self/fd")):
                    if descriptor > 2:
                        with suppress(OSError):  # the one that lists them is closed already
                            os.close(descriptor)
                sys.stderr = open(2, "w", closefd=False)  # noqa: SIM115 - to the end
                serve(memory, parent)
                code = 0
        except BaseException:
            if os.getpid() == parent:
                raise
            traceback.print_exc()
        finally:
            if os.getpid() != parent:  # nothing of the parent's is to be run, whatever happened
                sys.stderr.flush()
                os._exit(code)
        os.close(requests)
        os.close(answers)
        self.stdin, self.stdout = open(stdin, "wb"), open(stdout, "rb")  # noqa: SIM115 - closed when it ends
        self._code: int | None = None

    def kill(self) -> None:
        if self._code is None:
            os.kill(self._number, signal.SIGKILL)

    def wait(self) -> int:
        if self._code is None:
            self._code = os.waitstatus_to_exitcode(os.waitpid(self._number, 0)[1])
        return self._code


# -- what it does ----------------------------------------------------------------------------------------------


def serve(memory: int, parent: int) -> None:
    """Evaluate the workbook that comes in, and answer the questions that follow.

    memory : the most to take more than now [bytes]. parent : the number of the process that started this one.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the one who started it decides
    requests, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # nothing that is printed may fall among the answers
    _end_with(parent)
    _hold_to(memory)
    gc.disable()

    def write(kind: str, content: Any) -> None:
        pickle.dump((kind, content), answers, pickle.HIGHEST_PROTOCOL)
        answers.flush()

    try:
        with CLIMATES.keeping_all():
            job: Job = pickle.load(requests)
            evaluation = Evaluation(
                job, all_functions(), lambda count: write(CALLED, count), lambda number: write(AT, number)
            )
            write(ANSWER, None)
            while True:
                question, details = pickle.load(requests)
                write(ANSWER, getattr(evaluation, question)(*details))
    except EOFError:
        pass
    except BaseException as error:
        write(FAILED, (_as_pickled(error), traceback.format_exc()))


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
    with suppress(OSError):  # only Linux says so
        memory += int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
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
