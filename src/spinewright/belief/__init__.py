"""An ensemble of plausible bow-archer-arrow systems, updated by evidence, and what it implies.

Lives here: the prior, the physics of every plausible bow as a Gaussian, the learnt slopes as particles, the update, the
causes. Does not live here: what to do about it (``advice``), what was logged (``logbook``).
"""

from spinewright.belief.believe import Belief, BeliefSettings, Forecast, Ground, Recall, believe, break_ground, forecast
from spinewright.belief.causes import Cause, CauseShare, too_weak, weigh_causes
from spinewright.belief.checking import Checked, check_last, count_checkable
from spinewright.belief.evidence_rows import (
    BARE_SPREAD,
    FURTHER_SD,
    VISIT_SD,
    Noise,
    Sighting,
    by_chance,
    noise_variance,
    shaft_places,
    shaft_rows,
    sightings_of,
    usable,
)
from spinewright.belief.physics import Output, What, run_physics, standing
from spinewright.belief.prior import UNKNOWNS, Members, draw_members, members_from
from spinewright.belief.response import BENT, GAP_DISTANCE, ResponsePrior, Theta, length_slopes
from spinewright.belief.update import Health

__all__ = [
    "BARE_SPREAD",
    "BENT",
    "FURTHER_SD",
    "GAP_DISTANCE",
    "UNKNOWNS",
    "VISIT_SD",
    "Belief",
    "BeliefSettings",
    "Cause",
    "CauseShare",
    "Checked",
    "Forecast",
    "Ground",
    "Health",
    "Members",
    "Noise",
    "Output",
    "Recall",
    "ResponsePrior",
    "Sighting",
    "Theta",
    "What",
    "believe",
    "break_ground",
    "by_chance",
    "check_last",
    "count_checkable",
    "draw_members",
    "forecast",
    "length_slopes",
    "members_from",
    "noise_variance",
    "run_physics",
    "shaft_places",
    "shaft_rows",
    "sightings_of",
    "standing",
    "too_weak",
    "usable",
    "weigh_causes",
]
