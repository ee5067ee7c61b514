"""Routes for who may come in: a phone joins with a code, this machine sees the devices and takes them off."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from spinewright.web.desk import answer, desk_of
from spinewright.web.entrance import NotPaired
from spinewright.web.guard import COOKIE
from spinewright.web.sent import Sent
from spinewright.workflow.benches.devices import device_json

__all__ = ["devices"]

devices = APIRouter(prefix="/api")
_YEAR = 31_536_000  # s


@devices.post("/pair")
def post_pair(request: Request, sent: Sent) -> Response:
    """Give a device its own token for a code that was scanned."""
    entrance = desk_of(request).door.entrance
    if entrance is None:
        raise NotPaired("the bench page is open to its own machine alone; start it with --share")
    address = "" if request.client is None else request.client.host
    token = entrance.pair(str(sent.get("code", "")), str(sent.get("name", "")), address)
    made = answer({"url": "/"})
    # not 'secure': the page has no certificate, and a browser would not send the cookie over plain HTTP
    made.set_cookie(COOKIE, token, max_age=_YEAR, samesite="strict", httponly=True)
    return made


@devices.get("/devices")
def get_devices(request: Request) -> Response:
    """The devices that may come in."""
    return answer({"devices": [device_json(row) for row in desk_of(request).benches.devices.all()]})


@devices.delete("/devices/{device}")
def delete_device(request: Request, device: str) -> Response:
    """Take a device off: it is refused from now on, and what it has open ends."""
    desk = desk_of(request)
    desk.benches.devices.take_off(device)
    desk.hub.leave(device)
    return get_devices(request)
