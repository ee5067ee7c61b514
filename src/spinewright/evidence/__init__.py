"""What a person measured, with its noise, and what the measurements alone can and cannot show.

Here live the values a person writes down (holes, leaning nocks, tears, nock rotations, speeds, checks), how well each
can be read, the statistics of small groups, and the words and signs of the trade that read an observation back. Not
here: any arrow physics, any belief about the bow, any advice. Everything is in SI and in the right-handed frame; only
the words take a hand.
"""

from __future__ import annotations

from spinewright.evidence.before_after import Comparison, Hits, arrows_to_tell, compare
from spinewright.evidence.checks import CheckState, bow_check_state, check_caution, contact_check_state
from spinewright.evidence.gaps import (
    Ellipse,
    Gap,
    GapTest,
    Way,
    gap,
    head_gap,
    more_shots,
    offset,
    shots_for_half_width,
    shots_needed,
)
from spinewright.evidence.groups import Group, group, holes, select
from spinewright.evidence.nock_series import BestAngle, NockFit, best_angle, fit_nock_series
from spinewright.evidence.noise import Noise, lean_noise, tear_is_weak, tear_noise
from spinewright.evidence.scatter import OddShaft, Scatter, ShaftSpread, archer_scatter, odd_shaft, shaft_spread
from spinewright.evidence.tears import TearGroup, size_word, tear_group, tear_groups
from spinewright.evidence.trade import SIGN_TABLE, SignRow, TradeKind, TradeNoise, TradeReading, trade_reading
from spinewright.evidence.values import (
    BowCheck,
    ContactCheck,
    Evidence,
    History,
    Impact,
    NockReading,
    NockSeries,
    Seen,
    SpeedShot,
    TargetKind,
    Tear,
    Visit,
)
from spinewright.evidence.words import place_words, read_back, trade_words
from spinewright.evidence.work import Changed

__all__ = [
    "SIGN_TABLE",
    "BestAngle",
    "BowCheck",
    "Changed",
    "CheckState",
    "Comparison",
    "ContactCheck",
    "Ellipse",
    "Evidence",
    "Gap",
    "GapTest",
    "Group",
    "History",
    "Hits",
    "Impact",
    "NockFit",
    "NockReading",
    "NockSeries",
    "Noise",
    "OddShaft",
    "Scatter",
    "Seen",
    "ShaftSpread",
    "SignRow",
    "SpeedShot",
    "TargetKind",
    "Tear",
    "TearGroup",
    "TradeKind",
    "TradeNoise",
    "TradeReading",
    "Visit",
    "Way",
    "archer_scatter",
    "arrows_to_tell",
    "best_angle",
    "bow_check_state",
    "check_caution",
    "compare",
    "contact_check_state",
    "fit_nock_series",
    "gap",
    "group",
    "head_gap",
    "holes",
    "lean_noise",
    "more_shots",
    "odd_shaft",
    "offset",
    "place_words",
    "read_back",
    "select",
    "shaft_spread",
    "shots_for_half_width",
    "shots_needed",
    "size_word",
    "tear_group",
    "tear_groups",
    "tear_is_weak",
    "tear_noise",
    "trade_reading",
    "trade_words",
]
