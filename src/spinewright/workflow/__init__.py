"""One function per task of a person; the only thing that the two faces call.

Here live the tasks: start a session, log what was done or seen, the build sheet, the next move, the forgiveness map,
and what is installed; the same for a bench held in memory, so that another program can play a whole hunt. Each returns
a frozen result with its sentences and ``to_json()``, which keeps the schema of the same name in ``schema/``. Not here:
printing, pictures, or any judgement of evidence.

The tasks are imported when they are first asked for: writing down a shot needs no solver.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from spinewright.workflow.advising import NextMove, Option, next_move, settings_for
    from spinewright.workflow.build_sheet import Figure, Sheet, sheet
    from spinewright.workflow.failures import error_json, use_error_json
    from spinewright.workflow.installed import Check, Doctor, doctor
    from spinewright.workflow.mapping import MapResult, MapWishes, Meeting, forgiveness_map, map_wishes
    from spinewright.workflow.open_bench import OpenBench, Source, bench, start_bench, state_of, with_event
    from spinewright.workflow.schemas import SCHEMAS, schema
    from spinewright.workflow.session_log import LoggedEvent, NewSession, log_event, new_session
    from spinewright.workflow.showing import Json, Voice
    from spinewright.workflow.situations import situation_of
    from spinewright.workflow.solvers import cache_folder, mark_prepared, prepared

_HOMES = {
    "advising": ("NextMove", "Option", "next_move", "settings_for"),
    "build_sheet": ("Figure", "Sheet", "sheet"),
    "failures": ("error_json", "use_error_json"),
    "installed": ("Check", "Doctor", "doctor"),
    "mapping": ("MapResult", "MapWishes", "Meeting", "forgiveness_map", "map_wishes"),
    "open_bench": ("OpenBench", "Source", "bench", "start_bench", "state_of", "with_event"),
    "schemas": ("SCHEMAS", "schema"),
    "session_log": ("LoggedEvent", "NewSession", "log_event", "new_session"),
    "showing": ("Json", "Voice"),
    "situations": ("situation_of",),
    "solvers": ("cache_folder", "mark_prepared", "prepared"),
}
_HOME_OF = {name: module for module, names in _HOMES.items() for name in names}

__all__ = [
    "SCHEMAS",
    "Check",
    "Doctor",
    "Figure",
    "Json",
    "LoggedEvent",
    "MapResult",
    "MapWishes",
    "Meeting",
    "NewSession",
    "NextMove",
    "OpenBench",
    "Option",
    "Sheet",
    "Source",
    "Voice",
    "bench",
    "cache_folder",
    "doctor",
    "error_json",
    "forgiveness_map",
    "log_event",
    "map_wishes",
    "mark_prepared",
    "new_session",
    "next_move",
    "prepared",
    "schema",
    "settings_for",
    "sheet",
    "situation_of",
    "start_bench",
    "state_of",
    "use_error_json",
    "with_event",
]


def __getattr__(name: str) -> object:
    """The task ``name`` from the module it lives in."""
    if name not in _HOME_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOME_OF[name]}"), name)
    globals()[name] = value
    return value
