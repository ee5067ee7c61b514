"""Routes that read: what each page is about, the session file, jobs, and the stream of messages."""

from __future__ import annotations

import re
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response, StreamingResponse

from spinewright import __version__
from spinewright.errors import StoreError
from spinewright.units import System
from spinewright.web.desk import answer, desk_of, system_of
from spinewright.web.guard import DEVICE
from spinewright.web.page_data import DATA, around_task, bench_of, story_of
from spinewright.web.sent import Sent
from spinewright.workflow.around.register import task_named
from spinewright.workflow.benches import Missing
from spinewright.workflow.benches.around_json import account_of
from spinewright.workflow.benches.drawing import drawing_json
from spinewright.workflow.benches.listing import benches_json
from spinewright.workflow.benches.starting import start_json
from spinewright.workflow.benches.walk_json import walk_json

__all__ = ["views"]

views = APIRouter(prefix="/api")


@views.get("/health")
def get_health() -> Response:
    """Whether the server is there."""
    return answer({"ok": True, "version": __version__})


@views.get("/start")
def get_start(request: Request) -> Response:
    """What is asked at an empty start."""
    return answer(start_json(system_of(request) or System.INCH))


@views.post("/drawing")
def post_drawing(request: Request, sent: Sent) -> Response:
    """Draw what is being typed in; nothing is kept."""
    return answer(drawing_json(sent, system_of(request) or System.INCH))


@views.get("/benches")
def get_benches(request: Request) -> Response:
    """All benches."""
    return answer(benches_json(desk_of(request).benches, system_of(request)))


@views.get("/benches/{bench}")
def get_bench(request: Request, bench: str) -> Response:
    """One bench."""
    desk = desk_of(request)
    return answer(bench_of(desk, desk.view(bench, request)))


@views.get("/benches/{bench}/walks/{walk}")
def get_walk(request: Request, bench: str, walk: str) -> Response:
    """One walk."""
    view = desk_of(request).view(bench, request)
    found = walk_json(view, walk)
    if found is None:
        raise Missing(f"there is no walk '{walk}' on this bench")
    return answer({"walk": found, "said": "", "revision": view.kept.row.revision, "cautions": []})


@views.get("/benches/{bench}/export")
def get_export(request: Request, bench: str) -> Response:
    """The session file."""
    kept = desk_of(request).benches.bench(bench)
    name = re.sub(r"[^a-z0-9]+", "-", kept.row.name.lower()).strip("-") or "bench"
    headers = {"content-disposition": f'attachment; filename="{name}.toml"'}
    return Response(kept.export, media_type="text/plain; charset=utf-8", headers=headers)


@views.post("/benches/{bench}/ask/{what}")
def post_ask(request: Request, bench: str, what: str, sent: Sent) -> Response:
    """Start long work."""
    return answer(desk_of(request).ask(bench, what, sent).to_json())


@views.get("/jobs/{job}")
def get_job(request: Request, job: str) -> Response:
    """How far long work is."""
    found = desk_of(request).jobs.get(job)
    if found is None:
        raise Missing("this work is not known any more; ask again")
    return answer(found.to_json())


@views.delete("/jobs/{job}")
def delete_job(request: Request, job: str) -> Response:
    """Cancel long work."""
    found = desk_of(request).jobs.cancel(job)
    if found is None:
        raise Missing("this work is not known any more")
    return answer(found.to_json())


@views.get("/benches/{bench}/stream")
async def get_stream(request: Request, bench: str) -> Response:
    """Messages to a page that is open."""
    desk = desk_of(request)
    kept = desk.benches.bench(bench)
    after = request.headers.get("last-event-id", "")
    device = str(request.scope.get(DEVICE, ""))

    def may_come() -> bool:
        try:
            return not device or desk.benches.devices.may_come(device)
        except StoreError:  # nobody knows whether it may: it asks again as soon as the stream ends
            return False

    messages = desk.hub.stream(bench, kept.row.revision, after, device, may_come)
    return StreamingResponse(messages, media_type="text/event-stream", headers={"x-accel-buffering": "no"})


@views.get("/benches/{bench}/around/{task}")
def get_task(request: Request, bench: str, task: str) -> Response:
    """One task around the tune with its last account."""
    desk = desk_of(request)
    return answer(around_task(desk, desk.view(bench, request), task))


@views.get("/benches/{bench}/around/{task}/plots/{number}.svg")
def get_plot(request: Request, bench: str, task: str, number: int) -> Response:
    """A plot of a task's last account."""
    from spinewright.report.plot_picture import plot_svg

    plots = _account(request, bench, task)["plots"]
    if not 0 <= number < len(plots):
        raise Missing("there is no such plot")
    return Response(plot_svg(plots[number]), media_type="image/svg+xml")


@views.get("/benches/{bench}/around/{task}/papers.pdf")
def get_papers(request: Request, bench: str, task: str) -> Response:
    """What a task's last account has to print."""
    from spinewright.report.paper import paper_pdf

    papers = _account(request, bench, task)["papers"]
    if not papers:
        raise Missing("there is nothing to print here")
    headers = {"content-disposition": f'inline; filename="{task_named(task).name}.pdf"'}
    return Response(paper_pdf(papers), media_type="application/pdf", headers=headers)


def _account(request: Request, bench: str, task: str) -> dict[str, Any]:
    desk = desk_of(request)
    found = account_of(desk.benches, desk.view(bench, request), task_named(task))
    if found is None:
        raise Missing("this task was not worked out yet")
    return found


@views.get("/benches/{bench}/story")
def get_story(request: Request, bench: str, upto: str = "") -> Response:
    """What happened on a bench; ``upto`` is the number of the last entry to be told."""
    desk = desk_of(request)
    return answer(story_of(desk, desk.view(bench, request), upto))


@views.get("/benches/{bench}/{page}")
def get_page_data(request: Request, bench: str, page: str) -> Response:
    """What one page is about."""
    if page not in DATA:
        raise Missing(f"there is no page '{page}'")
    desk = desk_of(request)
    return answer(DATA[page](desk, desk.view(bench, request)))
