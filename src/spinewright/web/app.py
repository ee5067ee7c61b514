"""The application: routes, guard and error pages put together round one desk."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.telemetry import TelemetryConfig
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import Response

from spinewright.errors import Place, SessionFileError, SpinewrightError
from spinewright.web.api_changes import changes
from spinewright.web.api_devices import devices
from spinewright.web.api_logbook import logbook_routes
from spinewright.web.api_views import views
from spinewright.web.assets import Assets
from spinewright.web.desk import Desk, refusal, units_of
from spinewright.web.guard import POLICY, Door, Guard
from spinewright.web.hub import Hub
from spinewright.web.jobs import Job, Jobs
from spinewright.web.pages import pages, trouble_page
from spinewright.workflow.benches import Benches, Missing
from spinewright.workflow.showing import Json

__all__ = ["make_app"]

# Nothing this program does is reported to anybody, whatever the environment says.
_NO_REPORTS: TelemetryConfig = {
    "tracing": False,
    "metrics": False,
    "logs": False,
    "operation_spans": False,
    "auto_configure": False,
}


def make_app(benches: Benches, door: Door, url: str = "") -> FastAPI:
    """The page over ``benches`` for those whom ``door`` lets in; ``url`` is where phones join, '' = nowhere."""
    hub = Hub()
    desk: Desk

    def done(job: Job, body: Json) -> None:
        desk.keep(job, body)

    desk = Desk(benches, Jobs(done, hub.job), hub, door, url)
    benches.listen(hub.changed)

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        yield
        hub.close()
        desk.jobs.close()

    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None, telemetry=_NO_REPORTS, lifespan=lifespan)
    app.state.desk = desk
    app.include_router(changes)
    app.include_router(devices)
    app.include_router(logbook_routes)
    app.include_router(views)
    app.include_router(pages)
    app.mount("/static", Assets())
    app.add_middleware(GZipMiddleware, minimum_size=1000)
    app.add_middleware(Guard, door=door)
    app.add_exception_handler(SpinewrightError, _trouble)
    app.add_exception_handler(HTTPException, _http_trouble)
    app.add_exception_handler(RequestValidationError, _body_trouble)
    app.add_exception_handler(Exception, _own_trouble)
    return app


def _said(request: Request, error: SpinewrightError) -> Response:
    """One sentence, as a page or as JSON."""
    if request.url.path.startswith(("/api/", "/static/")):
        return refusal(error, units_of(request))
    return trouble_page(request, error)


def _trouble(request: Request, error: Exception) -> Response:
    assert isinstance(error, SpinewrightError)  # noqa: S101 - it is registered for these alone
    return _said(request, error)


def _http_trouble(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101
    if error.status_code == 400:  # the body was no JSON at all
        return _body_trouble(request, error)
    made = _said(request, Missing("there is nothing at this address; go back to the list of benches"))
    if error.status_code != 404:
        made.status_code = error.status_code
    return made


def _body_trouble(request: Request, _error: Exception) -> Response:
    return _said(request, SessionFileError("what was sent is not a JSON object", "send an object", Place(field="body")))


def _own_trouble(request: Request, _error: Exception) -> Response:
    """A fault of the program itself; what happened is in the server's own output."""
    sentence = "something in the program went wrong; what was saved is safe, and what was not is sent again"
    made = _said(request, SpinewrightError(sentence))
    made.headers["content-security-policy"] = POLICY  # this answer is made outside the guard
    return made
