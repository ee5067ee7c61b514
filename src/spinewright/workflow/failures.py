"""Failures as a program reads them: the sentence, and its parts where it has any."""

from __future__ import annotations

from spinewright.errors import InputError, SolveError, SpinewrightError
from spinewright.workflow.showing import Json, headed

__all__ = ["error_json", "use_error_json"]


def error_json(error: BaseException) -> Json:
    """``error`` by ``schema/error.json``; one that is not of this package's tree is a fault of the program."""
    own = isinstance(error, SpinewrightError)
    body: Json = {
        "kind": type(error).__name__ if own else "Fault",
        "sentence": str(error) if own else f"this is a fault of spinewright: {type(error).__name__}: {error}",
        "exit_code": error.exit_code if isinstance(error, SpinewrightError) else 1,
        "what": None,
        "right": None,
        "file": None,
        "line": None,
        "field": None,
    }
    if isinstance(error, InputError):
        place = error.place
        body |= {"what": error.what, "right": error.right}
        body |= {"file": place.file, "line": place.line, "field": place.field}
    if isinstance(error, SolveError):
        body |= {"what": f"{error.quantity}: {error.step}", "right": error.try_}
    return headed("error", 1, body)


def use_error_json(sentence: str) -> Json:
    """An error in the use of a face (an unknown command or option) by ``schema/error.json``."""
    parts: Json = dict.fromkeys(("what", "right", "file", "line", "field"))
    return headed("error", 1, {"kind": "UseError", "sentence": sentence, "exit_code": 2, **parts})
