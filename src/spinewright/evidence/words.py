"""Reads an observation back in words before anything is concluded: holes, tails and nocks, never a bare 'right'."""

from __future__ import annotations

from dataclasses import dataclass
from functools import singledispatch
from math import degrees, hypot, sqrt

import numpy as np

from spinewright.equipment.arrow import HeadKind
from spinewright.evidence.checks import BOW_ITEMS, CONTACT_ITEMS, CheckState, bow_check_state, contact_check_state
from spinewright.evidence.gaps import gap
from spinewright.evidence.groups import group, select
from spinewright.evidence.noise import HOLE, lean_noise, tear_noise
from spinewright.evidence.tears import size_word
from spinewright.evidence.trade import TradeKind, TradeReading
from spinewright.evidence.values import BowCheck, ContactCheck, Impact, NockSeries, SpeedShot, Tear, Visit
from spinewright.units import Hand, Kind, System, height_word, show, side_word

__all__ = ["place_words", "read_back", "trade_words"]

SURE = 1.2816  # standard deviations: 80 % two-sided, the share every interval on the face holds
_ASIDE = ", its shaft set aside since"

Observation = Visit | Tear | NockSeries | SpeedShot | BowCheck | ContactCheck


@dataclass(frozen=True, slots=True)
class _Voice:
    """Who is spoken to, in which units (``None`` = no sizes), and the noise given, if any."""

    hand: Hand
    system: System | None
    noise: float | None


def read_back(seen: Observation, hand: Hand, system: System | None = None, noise: float | None = None) -> str:
    """The observation as one line in the archer's own left and right, 'bare holes left and high, ..., right-handed'.

    ``noise``: a component no larger than it is called 'in line' (sideways) or 'level' (height); [m], one figure for
    both axes of a gap, tail or hole. Without it 1.28 standard deviations of what is known from the shots themselves
    or from reading them. ``system`` adds sizes in these units.
    """
    return f"{_say(seen, _Voice(hand, system, noise))}, {hand.value}-handed"


def place_words(y: float, z: float, hand: Hand, noise_y: float, noise_z: float) -> str:
    """'left and high', 'left, level', 'in line, low' or 'in line and level' for a place in the right-handed frame.

    Components up to their noise (same unit) are nothing.
    """
    side = side_word(y, hand) if abs(y) > noise_y else ""
    height = height_word(z) if abs(z) > noise_z else ""
    if side and height:
        return f"{side} and {height}"
    if side:
        return f"{side}, level"
    return f"in line, {height}" if height else "in line and level"


def trade_words(reading: TradeReading, hand: Hand) -> str:
    """The trade's reading with the signs it is expected to show, in the archer's own left and right."""
    text = f"{reading.kind.value}: {reading.because}"
    row = reading.row
    if row is not None and row.kind in (TradeKind.STIFF, TradeKind.WEAK):
        side, other = side_word(row.hole_y, hand), side_word(-row.hole_y, hand)
        height = height_word(row.hole_z or 0)
        text += f" (a {row.kind.value} reading has bare holes {side} and often {height}, tails and nocks {other})"
    return f"{text}; {reading.source}"


@singledispatch
def _say(seen: object, voice: _Voice) -> str:
    raise TypeError(f"nothing to read back in {seen!r} for {voice.hand.value} hand")


@_say.register
def _visit(seen: Visit, voice: _Voice) -> str:
    parts = [_counts(seen) + _at(seen.distance, voice)]
    apart = gap(seen)
    bare, fletched = select(seen.impacts, bare=True), select(seen.impacts, bare=False)
    if apart is not None:
        covariance = apart.pooled.covariance
        own = max(HOLE.sd * sqrt(1 / apart.bare.count + 1 / apart.fletched.count), *_sds(covariance))
        noise = voice.noise if voice.noise is not None else SURE * own
        where = _against((apart.y, apart.z), "the fletched ones", noise, voice)
        parts.append(f"bare {'hole' if apart.bare.count == 1 else 'holes'} {where}")
    else:
        arrows, kind = (bare, "bare") if group(bare) else (fletched, "fletched")
        parts.append(_alone(arrows, kind, voice))
        parts.append("no fletched ones to compare with" if kind == "bare" else "no bare ones to compare with")
    parts.extend(_nocks(seen, bare or fletched, "bare" if bare else "fletched", voice))
    return ", ".join(part for part in parts if part)


@_say.register
def _tear(seen: Tear, voice: _Voice) -> str:
    noise = voice.noise if voice.noise is not None else SURE * tear_noise()
    size = hypot(seen.tail_y, seen.tail_z)
    kind = _kind(seen.bare)
    at = _at(seen.distance, voice)
    bad = (", called a bad shot" if seen.called_bad else "") + (_ASIDE if seen.set_aside else "")
    if max(abs(seen.tail_y), abs(seen.tail_z)) <= noise:
        return f"{kind} shaft {seen.shaft}{at}, tail tore in line and level, a clean hole{bad}"
    where = place_words(seen.tail_y, seen.tail_z, voice.hand, noise, noise)
    return f"{kind} shaft {seen.shaft}{at}, tail tore {where}, a {size_word(size)} tear{_size(size, voice)}{bad}"


@_say.register
def _series(seen: NockSeries, voice: _Voice) -> str:
    what = "tails" if seen.paper else "holes"
    verb = "tail tore" if seen.paper else "hole"
    spot_y, spot_z = seen.fletched or (0.0, 0.0)
    places = [(r.y - spot_y, r.z - spot_z) for r in seen.readings]
    best = int(np.argmin(np.hypot(*np.transpose(places))))
    cleanest = seen.readings[best]
    usual = SURE * (tear_noise() if seen.paper else HOLE.sd)
    noise = voice.noise if voice.noise is not None else usual
    middle = np.mean(places, axis=0)
    against = " against the fletched group" if seen.fletched is not None else ""
    count = len(seen.readings)
    return (
        f"{_kind(seen.bare)} shaft {seen.shaft}{_at(seen.distance, voice)}, {count} nock "
        f"{'angle' if count == 1 else 'angles'} {'through paper' if seen.paper else 'on the target'}, "
        f"{what} on the mean {place_words(float(middle[0]), float(middle[1]), voice.hand, noise, noise)}{against}, "
        f"smallest with the nock turned {_turned(cleanest.angle, voice.hand)}: "
        f"{verb} {place_words(*places[best], voice.hand, noise, noise)}"
        f"{_ASIDE if seen.set_aside else ''}"
    )


@_say.register
def _speed(seen: SpeedShot, voice: _Voice) -> str:
    size = f" at {show(seen.speed, Kind.SPEED, voice.system)}" if voice.system is not None else ""
    return f"one {_kind(seen.bare)} arrow through the chronograph{size}"


@_say.register
def _bow(seen: BowCheck, voice: _Voice) -> str:
    del voice  # a check has no sides; the hand is said at the end all the same
    return f"bow check: {_check(bow_check_state(seen), 'in order', 'found wrong', len(BOW_ITEMS))}"


@_say.register
def _contact(seen: ContactCheck, voice: _Voice) -> str:
    del voice
    return f"contact check: {_check(contact_check_state(seen), 'clean', 'touched', len(CONTACT_ITEMS))}"


def _check(state: CheckState, good: str, bad: str, items: int) -> str:
    if len(state.in_order) == items:
        return f"everything {good}"
    groups = ((state.in_order, good), (state.wrong, bad), (state.missing, "not looked at"))
    return "; ".join(f"{word}: {', '.join(names)}" for names, word in groups if names)


def _counts(seen: Visit) -> str:
    counted = []
    for bare in (False, True):
        arrows = [i for i in seen.impacts if i.bare == bare]
        bad = sum(i.called_bad for i in arrows)
        if arrows:
            aside = sum(i.set_aside for i in arrows)
            left_out = [f"{count} {why}" for count, why in ((bad, "called bad"), (aside, "set aside")) if count]
            counted.append(f"{len(arrows)} {_kind(bare)}" + (f" ({', '.join(left_out)})" if left_out else ""))
    heads = sorted({i.head.value for i in seen.impacts if i.head is not HeadKind.FIELD})
    return " and ".join(counted) + (f" (some with {' and '.join(heads)})" if heads else "")


def _alone(arrows: tuple[Impact, ...], kind: str, voice: _Voice) -> str:
    alone = group(arrows)
    if alone is None:
        return "no shot with a field point counts" if arrows else "no field points"
    noise = voice.noise if voice.noise is not None else SURE * max(HOLE.sd, alone.sd or 0.0) / sqrt(alone.count)
    return f"{kind} {'hole' if alone.count == 1 else 'holes'} {_against((alone.y, alone.z), 'the spot', noise, voice)}"


def _against(place: tuple[float, float], what: str, noise: float, voice: _Voice) -> str:
    """'left and high of the spot', 'left of the spot, level', 'low of the spot, in line', with the size if wanted."""
    side = side_word(place[0], voice.hand) if abs(place[0]) > noise else ""
    height = height_word(place[1]) if abs(place[1]) > noise else ""
    if not side and not height:
        return f"in line and level with {what}{_size(hypot(*place), voice)}"
    where = " and ".join(word for word in (side, height) if word)
    rest = "" if side and height else (", level" if side else ", in line")
    return f"{where} of {what}{_size(hypot(*place), voice)}{rest}"


def _nocks(seen: Visit, arrows: tuple[Impact, ...], kind: str, voice: _Voice) -> list[str]:
    """What the nocks of the bare (else fletched) arrows show, when anyone looked."""
    sideways = [i.lean_y for i in arrows if i.lean_y is not None and i.counts]
    upward = [i.lean_z for i in arrows if i.lean_z is not None and i.counts]
    if not sideways and not upward:
        return []
    noise = lean_noise(seen.target, seen.square_to_line)
    if noise is None:
        why = f"{seen.target.value} turns arrows" if seen.square_to_line else "the target was not square to the line"
        if seen.target.value == "unknown":
            why = "the target is not known"
        return [f"{kind} nocks not counted ({why})"]
    said = []
    if sideways:
        lean = float(np.mean(sideways))
        straight = abs(lean) <= SURE * noise.sd / sqrt(len(sideways))
        said.append(
            f"{kind} nocks standing straight" if straight else f"{kind} nocks leaning {side_word(lean, voice.hand)}"
        )
    if upward:
        lean = float(np.mean(upward))
        if abs(lean) > SURE * noise.sd / sqrt(len(upward)):
            said.append(f"{kind} nocks {height_word(lean)}")
    return said


def _sds(covariance: tuple[tuple[float, float], tuple[float, float]] | None) -> tuple[float, float]:
    return (0.0, 0.0) if covariance is None else (sqrt(covariance[0][0]), sqrt(covariance[1][1]))


def _kind(bare: bool) -> str:
    return "bare" if bare else "fletched"


def _at(distance: float, voice: _Voice) -> str:
    return f" at {show(distance, Kind.DISTANCE, voice.system)}" if voice.system is not None else ""


def _size(size: float, voice: _Voice) -> str:
    return f" ({show(size, Kind.LENGTH, voice.system, digits=1)})" if voice.system is not None else ""


def _turned(angle: float, hand: Hand) -> str:
    """'40 degrees clockwise', from behind as this archer sees it: the sense of turning mirrors as sides do."""
    size, seen = abs(round(degrees(angle))), angle * hand.sideways_sign
    if size == 0:
        return "0 degrees"
    return f"{size} degrees {'clockwise' if seen > 0 else 'counterclockwise'}"
