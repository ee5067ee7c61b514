"""What each event that only saw something does to the bench: evidence, checks, marks."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TypeVar

from spinewright.equipment.arrow import HeadKind
from spinewright.errors import EvidenceError, Place
from spinewright.evidence.values import BowCheck, ContactCheck, Impact, Visit
from spinewright.logbook import events as ev
from spinewright.logbook.bench import Bench
from spinewright.logbook.measuring import weighed_anew
from spinewright.logbook.state import FlexCheck, Knob

__all__ = [
    "bow_checked",
    "contact_checked",
    "flex_checked",
    "marked_good",
    "nock_series_shot",
    "paper_torn",
    "safe_length_marked",
    "shaft_set_aside",
    "shot",
    "speed_read",
]

_Check = TypeVar("_Check", BowCheck, ContactCheck)


def _merged(old: _Check | None, new: _Check) -> _Check:
    """The items looked at now, and the older result of those that were not."""
    if old is None:
        return new
    return replace(new, **{f.name: getattr(old, f.name) for f in fields(new) if getattr(new, f.name) is None})


def _put_right(bench: Bench, old: BowCheck | ContactCheck | None, new: BowCheck | ContactCheck) -> None:
    """Shots made while something was found wrong do not count once it has been put right."""
    if old is None:
        return
    if any(getattr(old, f.name) is False and getattr(new, f.name) is True for f in fields(new)):
        bench.cleared = len(bench.seen)
        if bench.seen:
            bench.notice("What was shot before the fault was put right is kept, but no longer counts: shoot again.")


def bow_checked(bench: Bench, event: ev.BowChecked) -> None:
    """A bow check replaces the older result item by item; a weighing replaces the peak weight."""
    _put_right(bench, bench.bow_check, event.check)
    bench.bow_check = _merged(bench.bow_check, event.check)
    bench.bow_check_since = _merged(bench.bow_check_since, event.check)
    if bench.new_rest and event.check.centre_shot:
        bench.stand(replace(bench.now, rest_y=0.0, rest_z=0.0))
        for knob in (Knob.REST_SIDEWAYS, Knob.REST_HEIGHT):
            if any(entry.knob is knob for entry in bench.ledger):
                bench.settle(event, knob, 0.0)
        bench.rest_unknown.clear()
        bench.new_rest = False
    if event.weighed is not None:
        weighed_anew(bench, event.weighed)


def contact_checked(bench: Bench, event: ev.ContactChecked) -> None:
    """A contact check replaces the older result item by item."""
    _put_right(bench, bench.contact_check, event.check)
    bench.contact_check = _merged(bench.contact_check, event.check)
    bench.contact_check_since = _merged(bench.contact_check_since, event.check)


def safe_length_marked(bench: Bench, event: ev.SafeLengthMarked) -> None:
    """The mark made last is the one that holds."""
    throat = bench.now.build.throat_length
    if event.length >= throat + 1e-6:
        raise EvidenceError(
            "the mark lies beyond the front end of the shaft, so this arrow is too short for the bow already",
            "do not draw it again; measure from the nock throat to the mark, or build a longer arrow",
            Place(field="mark"),
        )
    bench.safe_length = event.length


def shot(bench: Bench, event: ev.Shots) -> None:
    """Arrows in the target."""
    built = bench.now.build.head.kind
    aside = bench.aside_now()
    impacts = tuple(_impact(hit, built, aside=hit.impact.shaft in aside) for hit in event.hits)
    _bare_with_field_point(bench, any(impact.bare for impact in impacts))
    for number in sorted({impact.shaft for impact in impacts} & set(bench.broken_shafts)):
        bench.caution(_broken(number) + " It was shot again after that.")
    purpose = event.purpose if isinstance(event, ev.ProofGroup) else ""
    visit = Visit(event.distance, event.target, impacts, event.square_to_line, purpose, bench.sight_moves)
    _shot_apart(bench, visit)
    bench.see(event, visit)
    for number in sorted({impact.shaft for impact in impacts if impact.set_aside}):
        bench.notice(
            f"Shaft {number} was set aside, so what it shot since is kept but does not count. If its nock was turned "
            f"before, undo those shots, log 'nock turned' with shaft = {number} and log them again."
        )


def _shot_apart(bench: Bench, visit: Visit) -> None:
    """Say so where only the sight, moved in between, keeps bare and fletched arrows from being compared."""
    kinds = {impact.bare for impact in visit.impacts}
    if len(kinds) > 1 or not bench.sight_moves:
        return
    for item in reversed(bench.seen):
        earlier = item.what
        if not isinstance(earlier, Visit) or earlier.distance != visit.distance or item.setup != bench.now:
            continue
        others = {impact.bare for impact in earlier.impacts}
        if earlier.sight == visit.sight and others - kinds:
            return
        if earlier.sight != visit.sight and others and not others & kinds:
            bench.notice(
                "Bare and fletched arrows were shot apart and the sight was moved in between, so their holes are not "
                "compared: shoot both with the sight where it is."
            )
            return


def _impact(hit: ev.Hit, built: HeadKind, *, aside: bool) -> Impact:
    """The hit with the head it was built with, unless it named its own; a bare one never carries blades."""
    head = hit.impact.head if hit.head_named or hit.impact.bare else built
    if (head, aside) == (hit.impact.head, hit.impact.set_aside):
        return hit.impact
    return replace(hit.impact, head=head, set_aside=aside)


def _bare_with_field_point(bench: Bench, bare: bool) -> None:
    """The one rule for bare shafts on a bench whose set carries a head."""
    built = bench.now.build.head.kind
    if bare and built is not HeadKind.FIELD:
        bench.caution(
            f"The set carries a {built}: bare shafts are logged as shot with a field point of the same mass. "
            "Never shoot a broadhead on an unfletched shaft."
        )


def paper_torn(bench: Bench, event: ev.PaperTorn) -> None:
    """A paper tear."""
    _bare_with_field_point(bench, event.tear.bare)
    bench.see(event, replace(event.tear, set_aside=event.tear.shaft in bench.aside_now()))


def nock_series_shot(bench: Bench, event: ev.NockSeriesShot) -> None:
    """A series of nock rotations."""
    _bare_with_field_point(bench, event.series.bare)
    shaft = event.series.shaft
    own = bench.own_turns().get(shaft, 0.0)
    bench.see(event, replace(event.series, set_aside=shaft in bench.aside_now(), turned=own))


def speed_read(bench: Bench, event: ev.SpeedRead) -> None:
    """A chronograph reading."""
    _bare_with_field_point(bench, event.shot.bare)
    bench.see(event, event.shot)


def _broken(number: int) -> str:
    return f"Shaft {number} failed its flex check: break it in two and never shoot it."


def flex_checked(bench: Bench, event: ev.FlexChecked) -> None:
    """A shaft that is not sound is broken up; nothing later makes it whole."""
    bench.flex_checks.append(FlexCheck(event.shaft, event.sound, event.when, len(bench.seen)))
    if not event.sound and event.shaft not in bench.broken_shafts:
        bench.broken_shafts.append(event.shaft)
        bench.caution(_broken(event.shaft))


def shaft_set_aside(bench: Bench, event: ev.ShaftSetAside) -> None:
    """A shaft left out: what it shot as it is built now is kept and marked, and no longer counts."""
    bench.no_longer_counts(event.shaft, series=True)
    bench.set_aside[event.shaft] = bench.now.build


def marked_good(bench: Bench, _event: ev.SettingsMarkedGood) -> None:
    """Settings to come back to."""
    bench.last_good = bench.now


def answers_kept(bench: Bench, event: ev.AnswersKept) -> None:
    """Answers to a task around the tune; the last ones to each task count."""
    bench.answers[event.to] = event.answers
