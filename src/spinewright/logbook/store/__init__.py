"""The logbook of many benches in one SQLite file or on a server. Lives below ``workflow``, like the session file.

Here live the tables, their migrations, opening with a dated backup, and :class:`Store`, which adds and reads rows and
never changes or deletes what was written down. Every event is kept as the text of its [[event]] section, so that an
export is the session file. Not here: what any text means.
"""

from __future__ import annotations

from spinewright.logbook.store.opening import located, open_store
from spinewright.logbook.store.rows import BenchRow, DeviceRow, EventRow, HeadRow, NewBench, TapRow, Whole
from spinewright.logbook.store.sole import sole_keeper
from spinewright.logbook.store.store import Outrun, Store

__all__ = [
    "BenchRow",
    "DeviceRow",
    "EventRow",
    "HeadRow",
    "NewBench",
    "Outrun",
    "Store",
    "TapRow",
    "Whole",
    "located",
    "open_store",
    "sole_keeper",
]
