"""A call in a child process that the kernel ends when its time is up.

Expressions and patterns that people write may never return, and neither a thread nor a signal handler can stop
one that loops inside a library. So the child sets an alarm whose default action ends it, whatever it is doing.
One child serves call after call; after one that did not return, the next call starts another.
"""

import atexit
import contextlib
import importlib
import mmap
import os
import pickle
import resource
import signal
import struct
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from typing import IO, Final, ParamSpec, TypeVar

Arguments = ParamSpec("Arguments")
Answer = TypeVar("Answer")

MEMORY_BYTES: Final = 1024**3
_LENGTH: Final = struct.Struct(">Q")
_NOTE_BYTES: Final = 1000


class TookTooLong(Exception):
    """The call did not return in its time, or took more memory than it may."""

    def __init__(self, doing: str, limit: str) -> None:
        super().__init__(doing, limit)
        self.doing = doing
        self.limit = limit


_note: list[mmap.mmap] = []
"""In the child: where it says what it is doing, so that the parent can tell when it is gone."""


def doing(what: str) -> None:
    """Say what is being done now, for the case that it never returns. Does nothing outside a child."""
    for page in _note:
        text = what.encode()[: _NOTE_BYTES - 1]
        page[: len(text) + 1] = text + b"\0"


class Apart:
    """A child process for calls that may never return. It may be used by several threads, one call at a time."""

    def __init__(self) -> None:
        self._lock = threading.RLock()
        self._child: subprocess.Popen[bytes] | None = None
        self._note: mmap.mmap | None = None
        atexit.register(self.close)

    def call(
        self,
        limit_s: float,
        function: Callable[Arguments, Answer],
        /,
        *args: Arguments.args,
        **named: Arguments.kwargs,
    ) -> Answer:
        """What the function returns in the child. Function and arguments are pickled.

        Raises:
            TookTooLong: It did not return in ``limit_s`` seconds, or wanted too much memory.
        """
        request = pickle.dumps((limit_s, function, args, named))
        with self._lock:
            child = self._running()
            assert child.stdin is not None  # noqa: S101  both are pipes
            assert child.stdout is not None  # noqa: S101
            with contextlib.suppress(BrokenPipeError):
                _write(child.stdin, request)
            answer = _read(child.stdout)
            if answer is None:
                raise self._ended(limit_s)
        worked, result = pickle.loads(answer)  # noqa: S301  our own child wrote it
        if worked:
            found: Answer = result
            return found
        raise result

    @contextlib.contextmanager
    def turn(self) -> Iterator[None]:
        """Calls of this thread alone, once what the child is at has ended."""
        with self._lock:
            yield

    def close(self) -> None:
        """End the child; the next call starts another."""
        child, self._child = self._child, None
        if child is None:
            return
        for pipe in (child.stdin, child.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()
        child.wait()

    def _running(self) -> subprocess.Popen[bytes]:
        if self._child is None or self._child.poll() is not None:
            self.close()
            memory = os.memfd_create("doing")
            os.ftruncate(memory, _NOTE_BYTES)
            self._note = mmap.mmap(memory, _NOTE_BYTES)
            self._child = subprocess.Popen(  # noqa: S603  our own program
                [sys.executable, "-m", "ticketbridge.extract.apart", str(memory)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                pass_fds=(memory,),
            )
            os.close(memory)
        return self._child

    def _ended(self, limit_s: float) -> TookTooLong:
        assert self._child is not None  # noqa: S101
        assert self._note is not None  # noqa: S101
        ended = self._child.wait()
        text = self._note[:].partition(b"\0")[0].decode(errors="replace")
        self.close()
        if ended == -signal.SIGALRM:
            return TookTooLong(text, f"{limit_s:g} s")
        return TookTooLong(text, f"what a child process may have (it ended with {ended})")


APART: Final = Apart()
"""The one child of this process."""


def _write(pipe: IO[bytes], data: bytes) -> None:
    pipe.write(_LENGTH.pack(len(data)) + data)
    pipe.flush()


def _read(pipe: IO[bytes]) -> bytes | None:
    head = pipe.read(_LENGTH.size)
    if len(head) < _LENGTH.size:
        return None
    (length,) = _LENGTH.unpack(head)
    data = pipe.read(length)
    return data if len(data) == length else None


def main(memory: int) -> None:
    """The child: answer calls until nobody asks any more."""
    _note.append(mmap.mmap(memory, _NOTE_BYTES))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    for number in (signal.SIGINT, signal.SIGTERM):  # sent to the parent, too, whose end is ours
        signal.signal(number, signal.SIG_IGN)
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever prints must not print into an answer
    while (request := _read(sys.stdin.buffer)) is not None:
        _write(answers, _answered(request))


def _answered(request: bytes) -> bytes:
    limit_s, function, args, named = pickle.loads(request)  # noqa: S301  our own parent wrote it
    doing(function.__name__)
    signal.setitimer(signal.ITIMER_REAL, limit_s)
    try:
        return pickle.dumps((True, function(*args, **named)))
    except MemoryError:
        return pickle.dumps((False, TookTooLong("reading", f"{MEMORY_BYTES // 1024**3} GiB of memory")))
    except Exception as error:
        return pickle.dumps((False, error))
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)


if __name__ == "__main__":
    # Not main() itself: as the program this module is another one than the one that calls are made by.
    importlib.import_module("ticketbridge.extract.apart").main(int(sys.argv[1]))
