"""What every route needs at hand: the benches, the jobs, the messages, and how answers are written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import Request
from starlette.responses import Response

from spinewright.errors import InputError, SpinewrightError, StoreError
from spinewright.units import System
from spinewright.web.entrance import NotPaired, TooMany
from spinewright.web.guard import Door
from spinewright.web.hub import Hub
from spinewright.web.inert import json_text
from spinewright.web.jobs import Job, Jobs
from spinewright.workflow.benches import Benches, Missing, MustConfirm, Refused, Taken
from spinewright.workflow.benches.answers import fingerprint, keep_answer, last_answer, wishes_known
from spinewright.workflow.benches.refusals import error_object
from spinewright.workflow.benches.tasks import can_be_asked, usual_wishes
from spinewright.workflow.benches.view import View, view_of
from spinewright.workflow.showing import Json

__all__ = ["Desk", "answer", "desk_of", "refusal", "status_of", "system_of", "units_of"]

_STATUS = (
    ((Missing,), 404),
    ((Taken, MustConfirm), 409),
    ((Refused,), 422),
    ((InputError,), 400),
    ((StoreError,), 503),
    ((NotPaired,), 401),
    ((TooMany,), 429),
)


@dataclass(frozen=True, slots=True)
class Desk:
    """``url`` is where phones join, '' = they do not."""

    benches: Benches
    jobs: Jobs
    hub: Hub
    door: Door
    url: str = ""

    def view(self, bench: str, request: Request) -> View:
        """The bench in the units this device chose. Raises Missing."""
        return view_of(self.benches.bench(bench), system_of(request))

    def ask(self, bench: str, what: str, wishes: Mapping[str, Any]) -> Job:
        """Start long work for a bench, or find it under way or done. Raises Missing, InputError."""
        if not can_be_asked(what):
            raise Missing(f"'{what}' is nothing that can be asked here")
        kept = self.benches.bench(bench)
        known = {**wishes_known(self.benches, kept, what), **wishes}
        wanted = usual_wishes(what, known)
        there = last_answer(self.benches, kept, what)
        if there is not None and there.fresh and there.wishes == wanted:
            return self.jobs.done_already(kept, what, wanted, fingerprint(kept))
        return self.jobs.ask(kept, what, wanted, fingerprint(kept))

    def keep(self, job: Job, body: Json) -> None:
        """Keep what a job computed."""
        keep_answer(self.benches, job.kept, job.what, dict(job.wishes), body)

    def job_json(self, bench: str, what: str) -> Json | None:
        """The job that is open for a bench, or the one that failed last."""
        job = self.jobs.latest(bench, what)
        return None if job is None else job.to_json()


def desk_of(request: Request) -> Desk:
    """The desk of the app that answers."""
    desk: Desk = request.app.state.desk
    return desk


def system_of(request: Request) -> System | None:
    """The units this device chose, or None."""
    chosen = request.cookies.get("units", "")
    return System(chosen) if chosen in {str(one) for one in System} else None


def units_of(request: Request) -> System:
    """The units this device chose, else those of the bench it asks about."""
    chosen = system_of(request)
    if chosen is not None:
        return chosen
    try:
        return desk_of(request).benches.bench(str(request.path_params.get("bench", ""))).system
    except SpinewrightError:
        return System.INCH


def answer(body: object, status: int = 200) -> Response:
    """``body`` as JSON."""
    return Response(json_text(body), status, media_type="application/json")


def status_of(error: Exception) -> int:
    """How HTTP calls this refusal."""
    return next((status for kinds, status in _STATUS if isinstance(error, kinds)), 500)


def refusal(error: SpinewrightError, system: System) -> Response:
    """A refusal as JSON, in the units of ``system``."""
    body: Json = {"error": error_object(error, system)}
    if isinstance(error, MustConfirm):
        body["confirm"] = error.confirm
    return answer(body, status_of(error))
