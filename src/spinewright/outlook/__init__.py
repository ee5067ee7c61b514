"""What a build is worth: forgiveness, heads and differences between arrows, maps, and the figures of a build sheet.

Lives here: the stated mistakes and what they cost, the spread within a set, how the arrow leaves and the bounds that
keep both honest, maps over length and point mass, a spine hidden by the rest. Everything is a statement over the
plausible bows of a belief. Does not live here: what to do next (``advice``), pictures (``report``), what was logged
(``logbook``).
"""

from spinewright.outlook.bounds import MOST_BEND, MOST_TURN, Bound, Leaving, broken_bounds
from spinewright.outlook.builds import BuildDraws, Use, told_apart
from spinewright.outlook.comparing import Compared, Comparison, compare
from spinewright.outlook.differences import (
    Difference,
    HeadsAndDifferences,
    SetSpread,
    fixed_head,
    heads_and_differences,
)
from spinewright.outlook.figures import ArrowFigures, BuildFigures, build_figures, sheet_cautions
from spinewright.outlook.grid import MapGrid, choose_grid, with_length, with_point
from spinewright.outlook.hidden_spine import HiddenSpine, hidden_spine, hidden_spine_words, rest_back
from spinewright.outlook.maps import FLAT, Flatness, ForgivenessMap, MapSettings, flatness, forgiveness_map, map_belief
from spinewright.outlook.mistakes import AMOUNTS, Mistake, MistakeAmounts, Skill, skill_of
from spinewright.outlook.motions import FlightPaths, ShotMotion, flight_paths, middle_bow, shot_motion
from spinewright.outlook.own_mistakes import Line, MistakeEffect, OwnMistakes, own_mistakes
from spinewright.outlook.runs import some_members, some_rows
from spinewright.outlook.surface import Fine, fine_places, finer
from spinewright.outlook.values import Range
from spinewright.outlook.words import (
    amount_words,
    archer_words,
    difference_rows,
    flat_sentence,
    gap_sentence,
    mistake_rows,
    show_length,
    show_range,
    sizes_sentence,
    whose_words,
)

__all__ = [
    "AMOUNTS",
    "FLAT",
    "MOST_BEND",
    "MOST_TURN",
    "ArrowFigures",
    "Bound",
    "BuildDraws",
    "BuildFigures",
    "Compared",
    "Comparison",
    "Difference",
    "Fine",
    "Flatness",
    "FlightPaths",
    "ForgivenessMap",
    "HeadsAndDifferences",
    "HiddenSpine",
    "Leaving",
    "Line",
    "MapGrid",
    "MapSettings",
    "Mistake",
    "MistakeAmounts",
    "MistakeEffect",
    "OwnMistakes",
    "Range",
    "SetSpread",
    "ShotMotion",
    "Skill",
    "Use",
    "amount_words",
    "archer_words",
    "broken_bounds",
    "build_figures",
    "choose_grid",
    "compare",
    "difference_rows",
    "fine_places",
    "finer",
    "fixed_head",
    "flat_sentence",
    "flatness",
    "flight_paths",
    "forgiveness_map",
    "gap_sentence",
    "heads_and_differences",
    "hidden_spine",
    "hidden_spine_words",
    "map_belief",
    "middle_bow",
    "mistake_rows",
    "own_mistakes",
    "rest_back",
    "sheet_cautions",
    "shot_motion",
    "show_length",
    "show_range",
    "sizes_sentence",
    "skill_of",
    "some_members",
    "some_rows",
    "told_apart",
    "whose_words",
    "with_length",
    "with_point",
]
