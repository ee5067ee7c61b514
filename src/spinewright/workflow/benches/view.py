"""A bench as one device looks at it: in the units that device chose."""

from __future__ import annotations

from dataclasses import dataclass, replace

from spinewright.logbook import BenchState, Session
from spinewright.units import System
from spinewright.workflow.benches.kept import Kept
from spinewright.workflow.showing import Voice

__all__ = ["View", "view_of"]


@dataclass(frozen=True, slots=True)
class View:
    """``kept`` with every text in ``voice``'s units; ``state`` and ``session`` say those units too."""

    kept: Kept
    state: BenchState
    session: Session
    voice: Voice


def view_of(kept: Kept, system: System | None = None) -> View:
    """The bench in ``system``, or in the units it is written in."""
    state, session = kept.bench.state, kept.bench.session
    chosen = system or state.scope.system
    scope = replace(state.scope, system=chosen)
    return View(kept, replace(state, scope=scope), replace(session, scope=scope), Voice(scope.hand, chosen))
