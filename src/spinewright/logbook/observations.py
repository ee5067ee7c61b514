"""What each event that only saw something does to the bench: evidence, checks, marks."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TypeVar

from spinewright.equipment.arrow import HeadKind
from spinewright.errors import EvidenceError, Place
from spinewright.evidence.values import BowCheck, ContactCheck, Impact, Visit
from spinewright.logbook import events as ev
from spinewright.logbook.bench import Bench

__all__ = [
    "bow_checked",
    "contact_checked",
    "flex_checked",
    "marked_good",
    "nock_series_shot",
    "paper_torn",
    "safe_length_marked",
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
    if bench.new_rest and event.check.centre_shot:
        bench.stand(replace(bench.now, rest_y=0.0, rest_z=0.0))
        bench.rest_known, bench.new_rest = True, False
    if event.weighed is not None:
        bow = replace(bench.now.bow, peak_weight=event.weighed)
        bench.stand(replace(bench.now, bow=bow, bolts_since_weighed=0.0))


def contact_checked(bench: Bench, event: ev.ContactChecked) -> None:
    """A contact check replaces the older result item by item."""
    _put_right(bench, bench.contact_check, event.check)
    bench.contact_check = _merged(bench.contact_check, event.check)


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
    impacts = tuple(_impact(hit, built) for hit in event.hits)
    _bare_with_field_point(bench, any(impact.bare for impact in impacts))
    for number in sorted({impact.shaft for impact in impacts} & set(bench.broken_shafts)):
        bench.caution(_broken(number) + " It was shot again after that.")
    purpose = event.purpose if isinstance(event, ev.ProofGroup) else ""
    bench.see(event, Visit(event.distance, event.target, impacts, event.square_to_line, purpose))


def _impact(hit: ev.Hit, built: HeadKind) -> Impact:
    """The hit with the head it was built with, unless it named its own; a bare one never carries blades."""
    if hit.head_named or hit.impact.bare:
        return hit.impact
    return replace(hit.impact, head=built)


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
    bench.see(event, event.tear)


def nock_series_shot(bench: Bench, event: ev.NockSeriesShot) -> None:
    """A series of nock rotations."""
    _bare_with_field_point(bench, event.series.bare)
    bench.see(event, event.series)


def speed_read(bench: Bench, event: ev.SpeedRead) -> None:
    """A chronograph reading."""
    _bare_with_field_point(bench, event.shot.bare)
    bench.see(event, event.shot)


def _broken(number: int) -> str:
    return f"Shaft {number} failed its flex check: break it in two and never shoot it."


def flex_checked(bench: Bench, event: ev.FlexChecked) -> None:
    """A shaft that is not sound is broken up; nothing later makes it whole."""
    if not event.sound and event.shaft not in bench.broken_shafts:
        bench.broken_shafts.append(event.shaft)
        bench.caution(_broken(event.shaft))


def marked_good(bench: Bench, _event: ev.SettingsMarkedGood) -> None:
    """Settings to come back to."""
    bench.last_good = bench.now
