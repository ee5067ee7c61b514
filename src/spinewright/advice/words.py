"""The advice in plain sentences: what was seen, what it most likely is, the next move, and what it should do."""

from __future__ import annotations

from dataclasses import dataclass

from spinewright.advice.budget import added_risk, stiffens_for_good
from spinewright.advice.cautions import cautions_for
from spinewright.advice.choosing import Advice
from spinewright.advice.diagnosis import Diagnosis
from spinewright.advice.moves import MoveKind
from spinewright.advice.phrases import Style, chance, forecast_phrase, gap_phrase, move_phrase, put_back_phrase
from spinewright.advice.situation import Situation
from spinewright.advice.weighing import Weighed
from spinewright.belief import Cause, Checked
from spinewright.equipment import Purpose
from spinewright.evidence import bow_check_state, check_caution, trade_words
from spinewright.units import Hand, System

__all__ = ["Explanation", "explain"]


@dataclass(frozen=True, slots=True)
class Explanation:
    """Everything a person is told; each field one or more whole sentences, '' or () when there is nothing to say."""

    observed: str
    checked: str
    diagnosis: tuple[str, ...]
    move: str
    why: tuple[str, ...]
    expect: str
    cost: str
    put_back: str
    cautions: tuple[str, ...]


def explain(advice: Advice, situation: Situation, system: System) -> Explanation:
    """The advice in words, left and right as the archer sees them."""
    style = Style(situation.archer.hand, system)
    move = advice.move.move
    changed = move.after is not None and move.kind not in (MoveKind.KEEP, MoveKind.TURN_NOCK)
    return Explanation(
        observed=_observed(advice.diagnosis, style),
        checked=_checked(advice.diagnosis.checked, situation, style),
        diagnosis=tuple(_diagnosis(advice.diagnosis, situation, style)),
        move=_move_words(advice, situation, style),
        why=tuple(_why(advice, situation, style)),
        expect=_expect(advice.move, style) if changed else "",
        cost=_cost(advice.move),
        put_back=put_back_phrase(move, situation.now, style),
        cautions=cautions_for(move, situation, system),
    )


def _move_words(advice: Advice, situation: Situation, style: Style) -> str:
    move = advice.move.move
    if move.kind is MoveKind.STOP and advice.why in _CONFLICT:
        return "Stop here: what was seen does not fit together."
    if move.kind is MoveKind.STOP and advice.why != "within":
        return "Stop here for now: no change within reach is expected to gain more than it costs."
    if move.kind is MoveKind.KEEP and move.after is None:
        return "Change nothing before the match."
    return move_phrase(move, situation.now, style)


def _observed(diagnosis: Diagnosis, style: Style) -> str:
    reading = diagnosis.reading
    hand = "left-handed" if style.hand is Hand.LEFT else "right-handed"
    if reading is None:
        return f"No bare and fletched holes have been logged with the bow and arrow as they are now ({hand})."
    walks = "one walk to the target" if reading.walks == 1 else f"{reading.walks} walks to the target, pooled"
    return (
        f"Bare holes lie {gap_phrase(reading.gap, style)}, seen against the fletched holes and taken to 20 yd "
        f"({hand}, {walks}; give or take {style.length(1.28 * reading.sd)}){_helped(reading.helped_by)}."
    )


def _helped(walks: int) -> str:
    """That other walks' fletched arrows were used too, as long as the sight stood where it stands."""
    if not walks:
        return ""
    others = "another walk" if walks == 1 else f"{walks} other walks"
    return f"; fletched arrows of {others} with the same sight setting help to say where these go"


def _checked(checked: Checked | None, situation: Situation, style: Style) -> str:
    """What came of the last prediction: in full while its shots are the last thing logged, then in short."""
    if checked is None or situation.history.seen[-1].event not in checked.events:
        return ""
    seen = gap_phrase(checked.seen, style)
    foretold = forecast_phrase(checked.foretold, style)
    came = "came within what was foretold" if checked.came_true else "did not come as foretold"
    if situation.history.latest not in ("", *checked.events):
        return f"The last change {came}."
    return f"The last change {came}. Foretold, with the scatter of such a walk: {foretold}. Seen: {seen}."


def _diagnosis(diagnosis: Diagnosis, situation: Situation, style: Style) -> list[str]:
    if diagnosis.reading is None:
        return []
    found = []
    if diagnosis.reading.beyond_chance > 0.1:
        found.append(
            f"A gap of this size comes from scatter alone in {100 * diagnosis.reading.beyond_chance:.0f} "
            "of 100 such walks, so by itself it says nothing against the arrow."
        )
    else:
        found.append(_cause_sentence(diagnosis))
        found.append(_spine_sentence(diagnosis, style))
        if diagnosis.trade is not None:
            found.append(f"By the trade's table, {trade_words(diagnosis.trade, style.hand)}.")
    if diagnosis.odd.is_odd:
        found.append(f"{diagnosis.odd.sentence.rstrip('.')}.")
    found += _reservations(diagnosis, situation)
    return found


def _cause_sentence(diagnosis: Diagnosis) -> str:
    """The likeliest main causes, as many as make up nine cases of ten, three at most."""
    named, covered = [], 0.0
    for share in diagnosis.causes[:3]:
        if covered < 0.9:
            named.append(f"{_cause_words(share.cause, diagnosis)} ({_percent(share.probability)})")
            covered += share.probability
    return f"Most likely: {'; next: '.join(named)}."


def _percent(probability: float) -> str:
    """A whole percentage that never claims certainty."""
    if probability >= 0.995:
        return "over 99 %"
    return "under 1 %" if probability < 0.005 else f"{100 * probability:.0f} %"


def _cause_words(cause: Cause, diagnosis: Diagnosis) -> str:
    if cause is Cause.SPINE:
        # Where spine is the main part of the gap, the side of the gap says which way (common practice).
        y = diagnosis.reading.gap[0] if diagnosis.reading is not None else diagnosis.gap.middle[0]
        return "an arrow too weak for the bow" if y < 0 else "an arrow too stiff for the bow"
    return str(cause)


def _spine_sentence(diagnosis: Diagnosis, style: Style) -> str:
    weak = diagnosis.weak >= 0.5
    sure = chance(diagnosis.weak if weak else 1 - diagnosis.weak)
    middle, low, high = diagnosis.weak_by
    by = f"{_by(low, style)} to {_by(high, style)}"
    return (
        f"That the arrow reads too {'weak' if weak else 'stiff'} is {sure}; as length it would be "
        f"{_by(middle, style)}, in four cases of five {by}."
    )


def _by(value: float, style: Style) -> str:
    return f"{style.length(value)} too {'long' if value >= 0 else 'short'}"


def _reservations(diagnosis: Diagnosis, situation: Situation) -> list[str]:
    found = []
    history = situation.history
    caution = check_caution(history.bow_check, history.contact_check)
    if caution:
        found.append(f"All of this is said with reserve. {caution}")
    if diagnosis.nock is not None and not diagnosis.nock.settled:
        found.append("The nock series shows no angle that is cleaner beyond what chance makes, so leave the nocks.")
    if diagnosis.conflict:
        found.append("What was seen does not fit together with anything this model holds possible.")
    if diagnosis.collapsed:
        found.append("The computation could not settle on an answer; take the numbers above as rough.")
    return found


def _why(advice: Advice, situation: Situation, style: Style) -> list[str]:
    diagnosis = advice.diagnosis
    found = list(_RULES.get(advice.why, ()))
    if advice.why == "archer":
        found.append(
            f"At this scatter (about {style.length(diagnosis.scatter[0])} to each side at 20 yd) it would take "
            f"{diagnosis.shots_needed} bare and as many fletched to know the gap to {style.tuned}: the test shows the "
            "archer."
        )
    if advice.why == "bow wrong":
        items = ", ".join(bow_check_state(situation.history.bow_check).wrong)
        found.append(f"The bow check found: {items}.")
    if advice.why == "within":
        found.append(
            f"That the gap is under {style.tuned} at 20 yd is {chance(diagnosis.within)}; bare and fletched touching "
            "there is a finished tune for most."
        )
        found += _hidden(advice, situation, style)
        found.append(
            "Log these settings as good and shoot your own fletched group; for more, step back to 30 and 40 yd, which "
            "magnifies what the rest still does."
        )
    if advice.why in ("no better", "hidden travel", "out of reach"):
        found.append(
            f"That the gap is under {style.tuned} is {chance(diagnosis.within)}, and no change within reach is "
            "expected to gain more than it costs."
        )
    if advice.why in (*_WEIGHED, "within", "no better"):
        found += _against_the_table(advice, style)
    if advice.why in _WEIGHED:
        found += _worth(advice, situation, style)
    found += _blocked(advice)
    return found


#: Reasons of a move that was chosen for its worth.
_WEIGHED = ("worth", "only the rest", "nearer")
_CONFLICT = ("conflict stays", "conflict, yet near")

_RULES: dict[str, tuple[str, ...]] = {
    "match": ("With a match tomorrow nothing is cut or changed: what was shot last is what is known best.",),
    "budget": (
        "A shorter arrow would most likely help, but it might end too short; these shots narrow that down first.",
    ),
    "unchecked": ("A bow out of order looks like a wrong arrow, and the check costs a few minutes.",),
    "contact found": (
        "Something touches the arrow, and contact looks like spine.",
        "Clear it (vane clearance, nock turn, rest drop), powder again and log the check before reading anything else.",
    ),
    "contact unchecked": ("Contact looks like spine; powder tells the two apart before a shaft is spent on it.",),
    "nothing shot": ("There is nothing to reason from yet; three of each is enough for a first look.",),
    "not shot": ("What this setup does at the target has not been seen yet, and nothing is concluded before that.",),
    "one bare": ("One bare shaft may be a bad one; a second tells shaft from arrow build.",),
    "nock first": (
        "The bare shaft tears, and turning the nock costs nothing: the cleanest angle comes before touching the rest.",
    ),
    "nock found": (
        "The series shows how the tear turns with the nock, and this is where it is smallest.",
        "All arrows of a set are turned alike; the rest is trimmed only after that.",
    ),
    "chance": ("Your own scatter could have made this gap; these shots, pooled with the others, settle it.",),
    "conflict": ("The shots so far contradict one another; a fresh, careful walk comes before any change.",),
    "conflict stays": (
        "The shots contradict one another and more of the same would not settle it: something changed that is not "
        "written down, or something written down is not so.",
        "Look through what was logged and take back what is wrong, or start afresh with the bow as it stands now.",
    ),
    "conflict, yet near": (
        "The last shots lie near enough to call it tuned, yet they contradict what was shot before: something changed "
        "that is not written down, or something written down is not so.",
        "Do not trust it yet: look through what was logged and take back what is wrong, or start afresh from here.",
    ),
    "once more": (
        "These shots are near enough, but the last change did not do what was foretold, so they may only lie well: one "
        "more walk with nothing changed, before it is called tuned.",
    ),
    "one walk": (
        "One walk says that it is near enough, and one walk can lie well by chance: one more with nothing changed, "
        "before it is called tuned.",
    ),
    "not sure yet": (
        "The gap may well be small enough already, and no change is worth its work as long as that is open: more shots "
        "with nothing changed settle it.",
    ),
    "nearly sure": (
        "The gap is most likely small enough already, yet not surely: a few more arrows with nothing changed make it "
        "surer, before it is called tuned.",
    ),
    "nearer": (
        "At this scatter the test cannot settle an inch, yet the gap is far larger than scatter makes, so what can be "
        "put back brings it nearer first.",
        "Nothing lasting is done to the arrow before smaller groups have shown it.",
    ),
    "check again": (
        "The shots say that it is tuned; something that has moved on the bow since its check would make that wrong "
        "tomorrow.",
    ),
    "powder again": ("Rest, arrow or bow was changed since the powder; a vane that touches now can be cleared now.",),
    "mark": ("A cut may be next, and none is proposed before the shortest safe length is marked on the arrow.",),
    "bow wrong": (),
    "unsafe": ("A limit that keeps people whole is broken; no tune is worth that.",),
    "rest unknown": (
        "The rest was moved by clicks of unknown size, so where it stands and what a move does cannot be told.",
    ),
    "only the rest": (
        "The arrow is most likely wrong, but no change of it that is allowed is likely to mend that: the rest takes up "
        "the gap and hides it.",
        "With field points that costs little; with broadheads it shows, and an arrow that fits the bow is the cure.",
    ),
    "odd": (
        "One bare shaft keeps apart from its fellows; turning its nock or leaving it out costs less than any change.",
    ),
    "hidden travel": ("What is left looks most like nock travel, which no change at the arrow or rest cures.",),
    "out of reach": (
        "What would close the gap is out of reach with this shaft, these points and the bow maker's limits.",
    ),
}


def _hidden(advice: Advice, situation: Situation, style: Style) -> list[str]:
    """Whether the rest, away from its start, hides a wrong spine; and what limb bolts out of place still owe."""
    start, now = situation.history.start, situation.now
    found = []
    if advice.move.spine_within < 0.5 and (now.rest_y, now.rest_z) != (start.rest_y, start.rest_z):
        found.append(
            "The rest stands away from its start and most likely hides a wrong spine: back there the gap would be "
            f"under {style.tuned} in only {100 * advice.move.spine_within:.0f} of 100 plausible cases. With field "
            "points that costs little; with broadheads it shows."
        )
    if now.bolt_turns != start.bolt_turns:
        found.append("The limb bolts do not stand where they began; that is part of this tune.")
    return found


def _against_the_table(advice: Advice, style: Style) -> list[str]:
    """When the rest is to go against the trade's table, that is said."""
    trade, move = advice.diagnosis.trade, advice.move.move
    if trade is None or trade.row is None or trade.row.rest_y is None or move.kind is not MoveKind.REST_SIDEWAYS:
        return []
    if trade.row.rest_y * move.amount >= 0:
        return []
    return [
        f"The trade's table would move the rest to the {style.side(trade.row.rest_y)} here; this departs from it, "
        "because all that was seen of this bow weighs more."
    ]


def _worth(advice: Advice, situation: Situation, style: Style) -> list[str]:
    chosen = advice.move
    reversible = not chosen.move.cannot_undo and chosen.move.after is not None
    found = [
        f"Of what is allowed it promises most for its cost: the gap gets smaller in {100 * chosen.better:.0f} of "
        f"100 plausible cases and falls under {style.tuned} in {100 * chosen.within:.0f} "
        f"(now {100 * advice.diagnosis.within:.0f})."
    ]
    if reversible:
        found.append("It can be put back, and the next shots show whether the prediction holds.")
    if chosen.move.after is not None and stiffens_for_good(chosen.move):
        risk = added_risk(advice.belief, situation.now, chosen.move.after)
        found.append(
            f"It adds {100 * risk:.1f} % to the chance that the arrow ends too short; over the whole hunt "
            f"{100 * (advice.spent + risk):.1f} % of the {100 * situation.budget:.0f} % allowed is used."
        )
    if situation.purpose is Purpose.FIXED_BLADES:
        found.append(
            f"For fixed blades the aim is a slightly stiff reading: bare a little to the {style.side(1.0)} and high."
        )
    hides = chosen.move.kind is MoveKind.REST_SIDEWAYS and chosen.spine_within < chosen.within - 0.15
    if hides and advice.why == "worth":
        found.append(
            "Mind that the rest can hide a wrong spine: with field points it costs little, with heads it shows."
        )
    return found


def _blocked(advice: Advice) -> list[str]:
    """Why no cut, when every cut within reach is refused."""
    if any(weighed.move.kind is MoveKind.CUT for weighed in (advice.move, *advice.others)):
        return []
    for refused in advice.refused:
        if refused.move.kind is MoveKind.CUT and advice.why in (*_WEIGHED, "no better"):
            return [f"No cut now: {refused.reason}."]
    return []


def _expect(weighed: Weighed, style: Style) -> str:
    return f"Then the bare holes should lie {forecast_phrase(weighed.gap, style)} at 20 yd."


def _cost(weighed: Weighed) -> str:
    move = weighed.move
    parts = [f"about {move.minutes:.0f} minutes"] if move.minutes else []
    if move.parts:
        parts.append(move.parts)
    if not parts:
        return ""
    text = f"Cost: {'; '.join(parts)}."
    if move.cannot_undo:
        text += f" Cannot be undone: {move.cannot_undo}."
    return text
