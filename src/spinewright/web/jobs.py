"""Long work as jobs: started, watched, cancelled; done one after the other by a process of its own."""

from __future__ import annotations

import contextlib
import multiprocessing
import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from typing import Any

from spinewright.errors import StoreError
from spinewright.web.worker_process import work
from spinewright.workflow.benches import Kept
from spinewright.workflow.showing import Json

__all__ = ["Job", "Jobs"]

_REMEMBERED = 64
_WORDS: Mapping[str, str] = {
    "next": "Thinking through plausible bows",
    "sheet": "Working out the arrow's figures",
    "stroke": "Working out the arrow's motion",
    "paths": "Flying bare and fletched arrows",
    "map": "Shooting every build of the map",
}
_OPEN = ("waiting", "running")


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of long work for the bench as it was when it was asked."""

    id: str
    what: str
    kept: Kept
    wishes: Mapping[str, Any]
    fingerprint: str
    state: str = "waiting"
    share: float = 0.0
    error: Json | None = None

    def to_json(self) -> Json:
        """The job as docs/page.md has it."""
        return {
            "job": self.id,
            "bench": self.kept.row.id,
            "what": self.what,
            "state": self.state,
            "share": round(self.share, 3),
            "revision": self.kept.row.revision,
            "words": _WORDS.get(self.what, "Working"),
            "error": self.error,
        }


Done = Callable[[Job, Json], None]


class Jobs:
    """A queue of jobs and the process that works it off; ``told`` hears of every change, ``done`` gets the answers."""

    def __init__(self, done: Done, told: Callable[[Job], None]) -> None:
        self._done, self._told = done, told
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._lock = threading.Condition()
        self._process: SpawnProcess | None = None
        self._pipe: Connection | None = None
        self._closed = False
        self._thread = threading.Thread(target=self._work_off, name="jobs", daemon=True)
        self._thread.start()

    def ask(self, kept: Kept, what: str, wishes: Mapping[str, Any], fingerprint: str) -> Job:
        """The job for this work, the same one when it is under way already; it replaces an older one of its kind."""
        with self._lock:
            for job in self._jobs.values():
                if job.state not in _OPEN or job.what != what or job.kept.row.id != kept.row.id:
                    continue
                if job.fingerprint == fingerprint and dict(job.wishes) == dict(wishes):
                    return job
                self._cancel(job)
            job = self._added(Job("j" + secrets.token_hex(6), what, kept, wishes, fingerprint))
            self._lock.notify_all()
        self._told(job)
        return job

    def done_already(self, kept: Kept, what: str, wishes: Mapping[str, Any], fingerprint: str) -> Job:
        """A job whose answer is there and still holds."""
        job = Job("j" + secrets.token_hex(6), what, kept, wishes, fingerprint, state="done", share=1.0)
        with self._lock:
            return self._added(job)

    def get(self, job: str) -> Job | None:
        """The job with this id."""
        with self._lock:
            return self._jobs.get(job)

    def latest(self, bench: str, what: str) -> Job | None:
        """The last job of this kind for a bench that is still open or went wrong."""
        with self._lock:
            for job in reversed(self._jobs.values()):
                if job.kept.row.id == bench and job.what == what:
                    return job if job.state in (*_OPEN, "failed") else None
            return None

    def cancel(self, job: str) -> Job | None:
        """Stop it at once; what is done already stays done."""
        with self._lock:
            found = self._jobs.get(job)
            if found is not None and found.state in _OPEN:
                self._cancel(found)
            return self._jobs.get(job)

    def warm(self) -> None:
        """Start the process before it is needed."""
        with self._lock:
            self._started()

    def close(self) -> None:
        """End the process and whatever waits."""
        with self._lock:
            self._closed = True
            self._stop()
            self._lock.notify_all()

    def _added(self, job: Job) -> Job:
        self._jobs[job.id] = job
        while len(self._jobs) > _REMEMBERED:
            oldest = next((one.id for one in self._jobs.values() if one.state not in _OPEN), None)
            if oldest is None:
                break
            del self._jobs[oldest]
        return job

    def _cancel(self, job: Job) -> None:
        running = job.state == "running"
        self._set(replace(job, state="cancelled"))
        if running:
            self._stop()  # a solver cannot be asked to stop; the next job gets a fresh process

    def _stop(self) -> None:
        process, self._process = self._process, None
        pipe, self._pipe = self._pipe, None
        if process is not None:
            process.kill()
            process.join(5.0)
            process.close()
        if pipe is not None:
            pipe.close()

    def _started(self) -> Connection:
        if self._pipe is None or self._process is None or not self._process.is_alive():
            self._stop()
            context = multiprocessing.get_context("spawn")
            mine, theirs = context.Pipe()
            process = context.Process(target=work, args=(theirs,), name="spinewright-work", daemon=True)
            process.start()
            theirs.close()
            self._process, self._pipe = process, mine
        return self._pipe

    def _set(self, job: Job) -> None:
        self._jobs[job.id] = job
        self._told(job)

    def _work_off(self) -> None:
        while True:
            with self._lock:
                job = self._waiting()
                while job is None and not self._closed:
                    self._lock.wait()
                    job = self._waiting()
                if self._closed or job is None:
                    return
                job = replace(job, state="running")
                self._set(job)
                try:
                    pipe = self._started()
                except (OSError, RuntimeError) as error:  # no room for one more process; the next job tries again
                    self._set(replace(job, state="failed", error=_failure(f"The work could not be started ({error}).")))
                    continue
                asked = {"job": job.id, "what": job.what, "text": job.kept.text, "wishes": dict(job.wishes)}
                with contextlib.suppress(OSError):
                    pipe.send(asked)
            self._watch(job, pipe)

    def _waiting(self) -> Job | None:
        return next((job for job in self._jobs.values() if job.state == "waiting"), None)

    def _watch(self, job: Job, pipe: Connection) -> None:
        """Follow one job to its end."""
        while True:
            try:
                kind, _, value = pipe.recv()
            except (EOFError, OSError, TypeError, ValueError):
                kind, value = "gone", None
            with self._lock:
                now = self._jobs.get(job.id, job)
                if now.state != "running":
                    return  # cancelled; its process is gone
                if kind == "share":
                    self._set(replace(now, share=min(max(float(value), 0.0), 1.0)))
                    continue
                if kind == "failed":
                    self._set(replace(now, state="failed", error=value))
                    return
                if kind == "gone":
                    told = _failure("The work ended before it was done; ask again.")
                    self._set(replace(now, state="failed", error=told))
                    self._stop()
                    return
            try:
                self._done(now, value)
                ended = replace(now, state="done", share=1.0)
            except StoreError as error:
                ended = replace(now, state="failed", error=_failure(f"The answer could not be kept: {error}"))
            with self._lock:
                self._set(ended)
            return


def _failure(sentence: str) -> Json:
    return {"what": sentence, "right": "", "field": None, "sentence": sentence}
