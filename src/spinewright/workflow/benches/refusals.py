"""Why something about a bench cannot be done, beside what a person wrote wrongly."""

from __future__ import annotations

from spinewright.errors import InputError, Place, SpinewrightError, inert
from spinewright.units import System
from spinewright.workflow.benches.page_words import in_page_words
from spinewright.workflow.showing import Json

__all__ = ["Missing", "MustConfirm", "Refused", "Taken", "error_object"]


class Missing(SpinewrightError):  # noqa: N818 - they read as what happened
    """There is no such bench, walk, event or job."""


class Taken(SpinewrightError):  # noqa: N818
    """The id is taken by something else."""


class Refused(SpinewrightError):  # noqa: N818
    """It was read, but it cannot have happened, or may not be done now."""

    def __init__(self, error: InputError) -> None:
        self.error = error
        super().__init__(sentence_of(error))


class MustConfirm(SpinewrightError):  # noqa: N818
    """What cannot be undone has to be confirmed first; ``confirm`` says what it leaves."""

    def __init__(self, sentence: str, confirm: Json) -> None:
        self.confirm = confirm
        super().__init__(sentence)


def sentence_of(error: InputError) -> str:
    """What is wrong and what would be right as one sentence, without the place; in a table with line and column."""
    place = error.place
    within = str(Place(line=place.line, field=place.field)) if place.table is not None else ""
    text = f"{within + ': ' if within else ''}{error.what}; {error.right}"
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."


def error_object(error: Exception, system: System = System.INCH) -> Json:
    """``error`` as docs/page.md has it, in the words of the page and the units of ``system``."""
    if isinstance(error, Refused):
        return error_object(error.error, system)
    if isinstance(error, InputError):
        error = in_page_words(error, system)
        asked = error.place.field if error.place.table is None else error.place.table
        field = None if asked is None else inert(asked)
        return {"what": error.what, "right": error.right, "field": field, "sentence": sentence_of(error)}
    text = inert(str(error))
    text = text if text.endswith((".", "?", "!")) else f"{text}."
    return {"what": text, "right": "", "field": None, "sentence": f"{text[:1].upper()}{text[1:]}"}
