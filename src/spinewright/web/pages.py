"""The pages themselves: templates with what they are about."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

import jinja2
from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from spinewright import __version__
from spinewright.errors import SpinewrightError
from spinewright.units import System, unbroken
from spinewright.web.assets import STATIC, static
from spinewright.web.desk import desk_of, status_of, system_of, units_of
from spinewright.web.entrance import MINUTES
from spinewright.web.guard import is_here
from spinewright.web.inert import json_text, shown
from spinewright.web.page_data import DATA, around_task, bench_of, story_of
from spinewright.workflow.benches import Missing
from spinewright.workflow.benches.devices import device_json
from spinewright.workflow.benches.listing import benches_json
from spinewright.workflow.benches.refusals import error_object
from spinewright.workflow.benches.starting import start_json
from spinewright.workflow.benches.view import View
from spinewright.workflow.showing import Json

__all__ = ["PLACES", "pages", "read_templates", "trouble_page"]

_HERE = Path(__file__).parent

PLACES: Mapping[str, str] = MappingProxyType(
    {
        "bench": "Where things stand",
        "line": "At the line",
        "paper": "Paper",
        "nock": "Nock dial",
        "meaning": "What it means",
        "moves": "The moves",
        "seeing": "Seeing it",
        "map": "Forgiveness map",
        "around": "Before and after",
        "setup": "Setting up",
        "checks": "Checks",
        "story": "The story so far",
    }
)
"""The pages of a bench by name, each with its title."""

pages = APIRouter()


_TEMPLATES = jinja2.Environment(
    loader=jinja2.FileSystemLoader(_HERE / "templates"),
    autoescape=True,
    trim_blocks=True,
    lstrip_blocks=True,
    undefined=jinja2.StrictUndefined,
    finalize=shown,
)
_TEMPLATES.policies["json.dumps_function"] = json_text
_TEMPLATES.globals["static"] = static
_TEMPLATES.filters["unbroken"] = unbroken


def read_templates() -> None:
    """Read every template and pack every script ahead, so that nobody's first page waits for it."""
    for name in _TEMPLATES.list_templates():
        _TEMPLATES.get_template(name)
    for path in sorted((STATIC / "js").glob("*.js")):
        static(f"page/{path.name}")


def _page(request: Request, page: str, title: str, data: Json, view: View | None = None, status: int = 200) -> Response:
    desk = desk_of(request)
    bench: Json | None = None if view is None else bench_of(desk, view)
    system = system_of(request) or (System.INCH if view is None else view.kept.system)
    context = {
        "page": page,
        "title": title,
        "units": str(system),
        "version": __version__,
        "bench": bench,
        "places": [] if view is None else _places(view, page),
        "data": data,
        "share": {"on": bool(desk.url), "url": desk.url or None},
    }
    return HTMLResponse(_TEMPLATES.get_template(f"{page}.html").render(context), status)


def _places(view: View, here: str) -> list[Json]:
    base = f"/b/{view.kept.row.id}"
    return [
        {
            "page": page,
            "url": base if page == "bench" else f"{base}/{page}",
            "title": title,
            "here": page == here or (page, here) == ("around", "task"),
        }
        for page, title in PLACES.items()
    ]


@pages.get("/")
def get_benches(request: Request) -> Response:
    """All benches, or the empty start."""
    desk = desk_of(request)
    if not desk.benches.rows():
        return RedirectResponse("/start", 303)
    return _page(request, "benches", "Your benches", benches_json(desk.benches, system_of(request)))


@pages.get("/start")
def get_start(request: Request) -> Response:
    """The empty start."""
    return _page(request, "start", "A new bench", start_json(system_of(request) or System.INCH))


@pages.get("/join")
def get_join(request: Request) -> Response:
    """The code a phone scans and the devices that joined; only on the machine itself: whoever sees a code may join."""
    desk = desk_of(request)
    entrance = desk.door.entrance
    here = is_here(request.scope)
    url = f"{desk.url}/pair#{entrance.code()}" if here and entrance is not None and desk.url else ""
    known = [device_json(row) for row in desk.benches.devices.all()] if here else []
    data: Json = {"url": url or None, "qr": _code(url) if url else "", "minutes": MINUTES}
    return _page(request, "join", "Join with a phone", {**data, "here": here, "devices": known})


@pages.get("/pair")
def get_pair(request: Request) -> Response:
    """Where a scanned code leads; the code stands behind the '#', so that a person uses it and no preview does."""
    return _page(request, "pair", "Join this bench", {"minutes": MINUTES})


@pages.get("/b/{bench}")
def get_bench(request: Request, bench: str) -> Response:
    """Where one bench stands."""
    return _of_bench(request, bench, "bench")


@pages.get("/b/{bench}/story")
def get_story(request: Request, bench: str, upto: str = "") -> Response:
    """What happened on a bench; ``upto`` is the number of the last entry to be shown."""
    desk = desk_of(request)
    view = desk.view(bench, request)
    return _page(request, "story", PLACES["story"], story_of(desk, view, upto), view)


@pages.get("/b/{bench}/{page}")
def get_page(request: Request, bench: str, page: str) -> Response:
    """One page of a bench."""
    return _of_bench(request, bench, page)


@pages.get("/b/{bench}/around/{task}")
def get_task(request: Request, bench: str, task: str) -> Response:
    """One task around the tune."""
    desk = desk_of(request)
    view = desk.view(bench, request)
    found = around_task(desk, view, task)
    return _page(request, "task", str(found["title"]), found, view)


def _of_bench(request: Request, bench: str, page: str) -> Response:
    if page not in PLACES:
        raise Missing(f"there is no page '{page}'; go back to the bench")
    desk = desk_of(request)
    view = desk.view(bench, request)
    return _page(request, page, PLACES[page], DATA[page](desk, view), view)


def trouble_page(request: Request, error: SpinewrightError, status: int | None = None) -> Response:
    """A page that says what is wrong."""
    code = status or status_of(error)
    said = error_object(error, units_of(request))
    return _page(request, "trouble", "That did not work", {"error": said, "status": code}, None, code)


def _code(url: str) -> str:
    import segno

    return segno.make(url, error="m").svg_inline(scale=6, border=4, dark="#000", light="#fff", omitsize=True)
