"""Routes that change a bench: make one, set it up, tap, log, end a walk, rename; each may be sent twice."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from spinewright.errors import Place, SessionFileError
from spinewright.units import System
from spinewright.web.desk import answer, desk_of, system_of
from spinewright.web.sent import Sent
from spinewright.workflow.benches.bench_json import bench_json
from spinewright.workflow.benches.logging_events import log_to_bench, read_for_bench
from spinewright.workflow.benches.setting_up import change_setup, setup_values_json
from spinewright.workflow.benches.starting import make_bench
from spinewright.workflow.benches.view import view_of
from spinewright.workflow.benches.walk_json import tap_said, walk_json
from spinewright.workflow.session_log import logged

__all__ = ["changes"]

changes = APIRouter(prefix="/api")


@changes.put("/units")
def put_units(request: Request, sent: Sent) -> Response:
    """Choose the units this device is shown."""
    del request
    chosen = sent.get("units")
    if chosen not in [str(one) for one in System]:
        raise SessionFileError(f"{chosen!r} is no system of units", "send inch or metric", Place(field="units"))
    made = answer({"units": chosen})
    made.set_cookie("units", str(chosen), max_age=31_536_000, samesite="strict", httponly=True)
    return made


@changes.put("/benches/{bench}")
def put_bench(request: Request, bench: str, sent: Sent) -> Response:
    """Make a bench."""
    desk = desk_of(request)
    kept = make_bench(desk.benches, bench, sent, system_of(request) or System.INCH)
    view = view_of(kept, system_of(request))
    return answer({"bench": bench_json(desk.benches, view), "url": f"/b/{bench}"})


@changes.post("/benches/{bench}/name")
def post_name(request: Request, bench: str, sent: Sent) -> Response:
    """Rename a bench."""
    desk = desk_of(request)
    desk.benches.rename(bench, str(sent.get("name", "")))
    return answer({"bench": bench_json(desk.benches, desk.view(bench, request))})


@changes.put("/benches/{bench}/setup")
def put_setup(request: Request, bench: str, sent: Sent) -> Response:
    """Put another recorded start in the place of the old one."""
    desk = desk_of(request)
    kept = change_setup(desk.benches, bench, sent)
    view = desk.view(bench, request)
    return answer({"bench": bench_json(desk.benches, view), "setup": setup_values_json(kept, view.voice.system)})


@changes.put("/benches/{bench}/events/{event}")
def put_event(request: Request, bench: str, event: str, sent: Sent) -> Response:
    """Log what was done or seen."""
    desk = desk_of(request)
    body = sent.get("event")
    if not isinstance(body, dict):
        raise SessionFileError("'event' is missing", "send the keys of an event", Place(field="event"))
    when = sent.get("when")
    said = {**body, "when": body.get("when", when)}
    made = log_to_bench(desk.benches, bench, event, said, system_of(request), sure=bool(sent.get("sure")))
    return answer({**made, "bench": bench_json(desk.benches, desk.view(bench, request))})


@changes.post("/benches/{bench}/read")
def post_read(request: Request, bench: str, sent: Sent) -> Response:
    """Read an event back without saving it."""
    body = sent.get("event")
    if not isinstance(body, dict):
        raise SessionFileError("'event' is missing", "send the keys of an event", Place(field="event"))
    return answer(read_for_bench(desk_of(request).benches, bench, body, system_of(request)))


@changes.put("/benches/{bench}/walks/{walk}/taps/{tap}")
def put_tap(request: Request, bench: str, walk: str, tap: str, sent: Sent) -> Response:
    """Save one tap."""
    desk = desk_of(request)
    kept = desk.benches.put_tap(bench, walk, tap, sent)
    view = view_of(kept, system_of(request))
    made = walk_json(view, walk)
    body = {
        "walk": made,
        "said": tap_said(view, walk, tap, made),
        "revision": kept.row.revision,
        "cautions": list(view.state.cautions),
    }
    return answer(body)


@changes.post("/benches/{bench}/walks/{walk}/close")
def post_close(request: Request, bench: str, walk: str) -> Response:
    """End a walk."""
    desk = desk_of(request)
    kept = desk.benches.close_walk(bench, walk)
    view = view_of(kept, system_of(request))
    made = logged(view.session, view.state).to_json()
    wanted = ("id", "kind", "said", "cautions", "notices")
    return answer({**{name: made[name] for name in wanted}, "bench": bench_json(desk.benches, view)})
