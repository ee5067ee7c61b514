"""Children forked from this warm process, killed with SIGKILL at a chosen moment, and what they had told by then.

A forked child has every module loaded already, so that hundreds of kills cost seconds; its death is as sudden as that
of any other process.
"""

from __future__ import annotations

import os
import select
import signal
import sys
import time
import traceback
import warnings
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import NoReturn

__all__ = ["Child", "Ended", "Tell", "Work", "fork", "killed", "undisturbed"]

Tell = Callable[[str], None]
Work = Callable[[Tell], None]
_LONGEST = 180.0  # s that a child may take on a busy machine
_BEGAN, _ENDED, _TOLD, _BROKE = "@began", "@ended", "@told ", "@broke "


@dataclass(frozen=True, slots=True)
class Ended:
    """What a child left: ``told`` in order, what it ``printed``, and whether it ``began`` and came to its ``end``.

    broke    the exception it ended with, '' = none
    seconds  from the fork until nothing of it was left
    """

    told: tuple[str, ...]
    printed: str
    began: bool
    end: bool
    broke: str
    seconds: float

    @property
    def landed(self) -> str:
        """Where a kill landed: before, inside or after the work."""
        return "after" if self.end else "inside" if self.began else "before"


class Child:
    """One forked process that does ``work`` with its standard output on a pipe to this one."""

    def __init__(self, work: Work) -> None:
        self._from, to = os.pipe()
        self._since = time.perf_counter()
        with warnings.catch_warnings():
            # newer Pythons warn where threads are about; the children touch none of theirs
            warnings.simplefilter("ignore", DeprecationWarning)
            self.pid = os.fork()
        if self.pid == 0:
            os.close(self._from)
            _be_child(work, to)
        os.close(to)

    def line(self, seconds: float) -> str:
        """The next thing it tells; '' when it ends or does not tell anything for so long."""
        found = b""
        until = time.monotonic() + seconds
        while time.monotonic() < until and not found.endswith(b"\n"):
            if not select.select([self._from], [], [], 0.1)[0]:
                continue
            one = os.read(self._from, 1)
            if not one:
                break
            found += one
        return found.decode().strip().removeprefix(_TOLD)

    def kill(self) -> None:
        """kill -9."""
        with suppress(ProcessLookupError):
            os.kill(self.pid, signal.SIGKILL)

    def ended(self) -> Ended:
        """Wait for its end, and read what it said; one that does not end in time is killed, and told as broken."""
        said = b""
        until = time.monotonic() + _LONGEST
        while True:
            if not select.select([self._from], [], [], max(0.0, until - time.monotonic()))[0]:
                self.kill()
                said += f"\n{_BROKE}it did not end in {_LONGEST:g} s\n".encode()
                break
            more = os.read(self._from, 1 << 16)
            if not more:
                break
            said += more
        os.close(self._from)
        os.waitpid(self.pid, 0)
        return _read(said.decode("utf-8", "replace"), time.perf_counter() - self._since)


def fork(work: Work) -> Child:
    """A child that does ``work``."""
    return Child(work)


def undisturbed(work: Work) -> Ended:
    """``work`` done to its end in a child."""
    return Child(work).ended()


def killed(work: Work, moment: float) -> Ended:
    """``work`` done in a child that is killed ``moment`` [s] after the fork."""
    child = Child(work)
    time.sleep(moment)
    child.kill()
    return child.ended()


def _be_child(work: Work, to: int) -> NoReturn:
    """Do ``work`` with standard output on ``to``; nothing of the parent runs on in the child."""
    status = 1
    try:
        os.dup2(to, 1)
        sys.stdout = open(1, "w", buffering=1, encoding="utf-8", closefd=False)  # noqa: SIM115 - open until the end
        _say(_BEGAN)
        work(lambda what: _say(_TOLD + what))
        _say(_ENDED)
        status = 0
    except BaseException as error:  # the parent hears of everything; nothing may leave this function
        last = traceback.extract_tb(error.__traceback__)[-1]
        _say(f"{_BROKE}{type(error).__name__}: {error} ({last.filename.rpartition('/')[2]}, {last.name})")
    finally:
        os._exit(status)


def _say(line: str) -> None:
    os.write(1, f"{' '.join(line.split())}\n".encode())


def _read(said: str, seconds: float) -> Ended:
    lines = said.splitlines()
    told = tuple(one.removeprefix(_TOLD) for one in lines if one.startswith(_TOLD))
    broke = next((one.removeprefix(_BROKE) for one in lines if one.startswith(_BROKE)), "")
    printed = "\n".join(one for one in lines if not one.startswith("@"))
    return Ended(told, printed, _BEGAN in lines, _ENDED in lines, broke, seconds)
