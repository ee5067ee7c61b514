"""Routes of the whole logbook: out into one file, and joined with one that was brought."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from spinewright.errors import InputError, Place, SessionFileError
from spinewright.web.desk import answer, desk_of
from spinewright.web.sent import Sent
from spinewright.workflow.benches.joining import export_text, file_name, import_text

__all__ = ["logbook_routes"]

logbook_routes = APIRouter(prefix="/api/logbook")


@logbook_routes.get("/export")
def get_export(request: Request) -> Response:
    """The whole logbook as a file."""
    headers = {"content-disposition": f'attachment; filename="{file_name()}"'}
    text = export_text(desk_of(request).benches)
    return Response(text, media_type="application/json", headers=headers)


@logbook_routes.post("/import")
def post_import(request: Request, sent: Sent) -> Response:
    """Join a logbook file with the logbook here."""
    text, name = sent.get("text"), sent.get("name")
    if not isinstance(text, str):
        raise SessionFileError("the file's text is missing", "choose a logbook file", Place(field="text"))
    file = name if isinstance(name, str) and name else "the file"
    try:
        return answer(import_text(desk_of(request).benches, text, file).to_json())
    except InputError as error:
        raise error.at(field="text") from error
