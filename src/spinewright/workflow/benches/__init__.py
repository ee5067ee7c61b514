"""Tasks on the benches that are kept in the store: what the page does, and any program may.

Here live :class:`Benches`, which makes, changes and reads benches, and what each page is about as JSON. Not here: HTML,
HTTP, or any judgement of evidence. Nothing here loads a solver; what needs one is in ``tasks`` and runs elsewhere.
"""

from __future__ import annotations

from spinewright.workflow.benches.kept import Kept
from spinewright.workflow.benches.refusals import Missing, MustConfirm, Refused, Taken
from spinewright.workflow.benches.room import Benches, open_benches, served_benches

__all__ = ["Benches", "Kept", "Missing", "MustConfirm", "Refused", "Taken", "open_benches", "served_benches"]
