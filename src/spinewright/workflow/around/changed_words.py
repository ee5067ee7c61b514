"""What is rechecked after each change, in which order and why; and what of the things learnt still holds.

Common practice of the trade throughout; where this program widens what it believes, ``outlook.carried_over`` does it.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from spinewright.outlook.carried_over import Changed

__all__ = ["CARE", "HOLDS", "LOGGED", "RECHECK", "TITLES"]

TITLES: Mapping[Changed, str] = MappingProxyType(
    {
        Changed.STRING: "a new string",
        Changed.WEIGHT: "another peak weight",
        Changed.CAM: "another cam",
        Changed.REST: "another rest",
        Changed.ARCHER: "another archer on this bow",
        Changed.BOW: "these arrows on a second bow",
    }
)

_WEIGH = ("peak weight on a scale", "arrow mass, spine and speed are all held against it")
_MASS = (
    "arrow mass and spine against the new peak weight",
    "too light or too weak an arrow can break the bow or itself",
)
_BRACE = ("axle to axle and brace height", "they show first whether string and cables have the length they should")
_TIMING = ("cam timing, then cam lean", "nock travel follows the cams, and the bare shaft follows nock travel")
_MARK = ("a new shortest-safe-length mark, at full draw with a helper", "draw length and rest decide how short is safe")
_NOCK = ("nock height and loop", "string, cams and limbs move it, and a little of it shows on the target")
_PEEP = ("peep height and turn", "a peep that stands otherwise moves every sight mark")
_CENTRE = ("centre shot", "the rest is set by it, and all rest moves are counted from it")
_DROP = ("rest drop", "a launcher that falls late touches the vanes")
_POWDER = ("powder on vanes, launcher, cables and shelf", "contact looks like spine")
_MARKS = ("sight marks: one near and one far", "two distances tell whether only the start or also the speed has moved")
_BARE = (
    "two bare with three fletched at 20 yd, twice",
    "only holes say where the gap went; nothing is cut before that",
)
_SETTLE = ("all of this again after some hundred shots", "a new string still creeps and turns while it settles")
_BOLTS = ("both limb bolts: turned alike, within the maker's turns", "uneven limbs move the nock up or down")
_DRAW = ("draw length, anchor and peep", "they are the archer's own, and the arrow must stay long enough")
_GROUP = ("a group of the archer's own, six fletched", "without the scatter nobody can tell a gap from chance")

#: In the order it should be done.
RECHECK: Mapping[Changed, tuple[tuple[str, str], ...]] = MappingProxyType(
    {
        Changed.STRING: (_BRACE, _TIMING, _WEIGH, _NOCK, _PEEP, _MARK, _CENTRE, _DROP, _MARKS, _BARE, _SETTLE),
        Changed.WEIGHT: (_BOLTS, _WEIGH, _MASS, _TIMING, _NOCK, _DROP, _MARKS, _BARE),
        Changed.CAM: (
            _BRACE,
            _TIMING,
            _WEIGH,
            _MASS,
            _DRAW,
            _MARK,
            _NOCK,
            _PEEP,
            _CENTRE,
            _DROP,
            _POWDER,
            _MARKS,
            _BARE,
        ),
        Changed.REST: (_CENTRE, _NOCK, _DROP, _POWDER, _MARK, _MARKS, _BARE),
        Changed.ARCHER: (_DRAW, _WEIGH, _MASS, _MARK, _PEEP, _GROUP, _MARKS, _BARE),
        Changed.BOW: (_WEIGH, _MASS, _MARK, _BRACE, _TIMING, _NOCK, _CENTRE, _DROP, _POWDER, _MARKS, _BARE),
    }
)

_SHAFT = ("the shaft's true spine, and its stiff side", "yes", "it belongs to the arrow")
_NOCKS = ("nock angles and shafts set aside", "yes", "they belong to the arrows")
_SCATTER = ("how closely you shoot", "yes", "it belongs to the archer")
_OLD_MARK = ("the shortest-safe-length mark", "no", "a new one is made at full draw with a helper")
_SIGHT = ("sight marks", "no", "shoot one near and one far again")


def _answers(length: str, rest: str, place: str) -> tuple[tuple[str, str, str], ...]:
    untouched = "neither arrow, rest, string nor cams are touched"
    return (
        (
            "how the gap answers length and point",
            length,
            untouched if length == "yes" else "the arrow's part stays, the bow's part may not",
        ),
        (
            "how the gap answers the rest",
            rest,
            untouched if rest == "yes" else "it depends on rest, string and cams",
        ),
        ("where the rest stands best", place, "it is counted from the nock's own line of travel"),
    )


#: What was learnt, whether it holds, and why.
HOLDS: Mapping[Changed, tuple[tuple[str, str, str], ...]] = MappingProxyType(
    {
        Changed.STRING: (
            _SHAFT, _NOCKS, _SCATTER, *_answers("nearly", "mostly", "partly"),
            ("speed", "nearly", "a heavier or lighter string changes it a little"), _SIGHT, _OLD_MARK,
            ("bow check", "no", "string, cables and loop were touched"),
        ),
        Changed.WEIGHT: (
            _SHAFT, _NOCKS, _SCATTER, *_answers("yes", "yes", "nearly"),
            ("speed", "no", "it goes with the root of the weight"), _SIGHT,
            ("the shortest-safe-length mark", "yes", "as long as the draw length is the same; look once at full draw"),
            ("bow check", "partly", "weight, timing and bolts again"),
        ),
        Changed.CAM: (
            _SHAFT, _NOCKS, _SCATTER, *_answers("partly", "hardly", "no"),
            ("speed", "no", "the draw curve is another one; chronograph it"), _SIGHT, _OLD_MARK,
            ("bow check", "no", "everything about the cams was touched"),
        ),
        Changed.REST: (
            _SHAFT, _NOCKS, _SCATTER, *_answers("mostly", "no", "no"),
            ("speed", "yes", "a rest takes next to nothing of it"), _SIGHT, _OLD_MARK,
            ("contact check", "no", "the vanes pass another rest"),
        ),
        Changed.ARCHER: (
            _SHAFT, _NOCKS, ("how closely you shoot", "no", "it is another archer"),
            *_answers("mostly", "mostly", "mostly"),
            ("speed", "partly", "it goes with draw length"), _SIGHT, _OLD_MARK,
            ("hand torque, face and release", "no", "they are the archer's own"),
        ),
        Changed.BOW: (
            _SHAFT, _NOCKS, _SCATTER, *_answers("hardly", "no", "no"),
            ("speed", "no", "chronograph it"), _SIGHT, _OLD_MARK,
            ("bow check", "no", "it was made on the other bow"),
        ),
    }
)  # fmt: skip

_WORK = (
    "Log it with 'spinewright log FILE bow' and what was measured afterwards; mark and checks count anew from there."
)
_NEW = (
    "Start a session file of its own for it and copy [shaft] and [arrow] over: 'next' takes what stands in one file as "
    "one bow and one archer."
)
#: How the change goes into the logbook.
LOGGED: Mapping[Changed, str] = MappingProxyType(
    {
        Changed.STRING: _WORK,
        Changed.WEIGHT: "Log it with 'spinewright log FILE bolts', or as 'bolts turned' in the page's story, and the "
        "new weight with it.",
        Changed.CAM: _WORK.replace("what was measured", "the new draw curve and what was measured"),
        Changed.REST: _WORK.replace("what was measured", "the new rest and what was measured"),
        Changed.ARCHER: _NEW.replace("for it", "for the other archer"),
        Changed.BOW: _NEW.replace("for it", "for the second bow"),
    }
)

_PRESS = (
    "String, cables and cams come off in a bow press only: that is work for a qualified technician. Never undo a "
    "strung compound by hand."
)
_BACKSTOP = "Bare shafts only at a backstop that forgives a wide miss, with field points, never broadheads."
_REACH = (
    "Before another archer or another bow draws this arrow: a helper looks at full draw that it reaches well past the "
    "rest."
)
#: What can hurt.
CARE: Mapping[Changed, tuple[str, ...]] = MappingProxyType(
    {
        Changed.STRING: (_PRESS, _BACKSTOP),
        Changed.WEIGHT: (
            "Turn both limb bolts alike and stay within the turns and the weight the bow's maker allows; beyond them a "
            "limb can jump out of its pocket.",
            _BACKSTOP,
        ),
        Changed.CAM: (_PRESS, _REACH.replace("another archer or another bow", "the bow with its other cam"), _BACKSTOP),
        Changed.REST: (
            "After another rest, see at full draw with a helper that the arrow lies on it and reaches past it.",
            _BACKSTOP,
        ),
        Changed.ARCHER: (_REACH, _BACKSTOP),
        Changed.BOW: (_REACH, _BACKSTOP),
    }
)
