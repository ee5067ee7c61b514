"""The kinds of quantity, the two systems they are written in, and every unit with its factor to SI."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

__all__ = [
    "DEGREE",
    "FOOT",
    "FOOT_POUND",
    "GRAIN",
    "INCH",
    "KILOGRAM_FORCE",
    "MILLIMETRE",
    "OUNCE",
    "POUND_FORCE",
    "TABLE",
    "YARD",
    "Kind",
    "KindRow",
    "Style",
    "System",
]

# Exact by definition (international yard and pound; CGPM 1901 for standard gravity).
INCH = 0.0254  # m
FOOT = 0.3048  # m
YARD = 0.9144  # m
MILLIMETRE = 1e-3  # m
GRAIN = 64.79891e-6  # kg
OUNCE = 437.5 * GRAIN  # kg
KILOGRAM_FORCE = 9.80665  # N
POUND_FORCE = 7000.0 * GRAIN * KILOGRAM_FORCE  # N
FOOT_POUND = FOOT * POUND_FORCE  # J
DEGREE = math.pi / 180.0  # rad


class Kind(StrEnum):
    """What a quantity measures; decides which units are read and how it is printed."""

    LENGTH = "length"
    DISTANCE = "distance"
    MASS = "mass"
    FORCE = "force"
    SPEED = "speed"
    ANGLE = "angle"
    LINEAR_DENSITY = "mass per length"
    SPINE = "static spine"
    AREA = "area"
    FRACTION = "share"
    ENERGY = "energy"
    MOMENTUM = "momentum"
    TIME = "time"
    FREQUENCY = "frequency"
    MASS_PER_FORCE = "arrow mass per draw weight"

    @property
    def phrase(self) -> str:
        """The kind with its article, for sentences."""
        return f"{'an' if self.value[0] in 'aeiou' else 'a'} {self.value}"


class System(StrEnum):
    """The archer's own system of units for everything that is printed."""

    INCH = "inch"
    METRIC = "metric"


@dataclass(frozen=True, slots=True)
class Style:
    """How a kind is printed in one system: unit label, SI per unit, decimals.

    decimals     None = three significant figures, but
    least, most  never fewer nor more decimals than these: what scales, rules and chronographs are read to
    """

    label: str
    factor: float
    decimals: int | None = None
    least: int = 0
    most: int = 6


@dataclass(frozen=True, slots=True)
class KindRow:
    """One kind: spellings with SI per unit, styles, bounds in SI, two examples of how to write it.

    ``beside`` is the SI value that metric archers are shown behind the trade's own number, where there is one.
    ``low`` and ``high`` bound what can be meant at all (not what is plausible for one field); ``signed`` says whether
    a minus is meaningful, and then the bounds hold for the magnitude.
    """

    units: MappingProxyType[str, float]
    inch: Style
    metric: Style
    low: float
    high: float
    examples: tuple[str, str]
    signed: bool = False
    beside: Style | None = None

    def style(self, system: System) -> Style:
        """The style of ``system``."""
        return self.inch if system is System.INCH else self.metric


def _spellings(*rows: tuple[float, str]) -> MappingProxyType[str, float]:
    return MappingProxyType({name: factor for factor, names in rows for name in names.split("|")})


_LENGTH_ROWS = (
    (INCH, "in|inch|inches|\"|''"),
    (FOOT, "ft|foot|feet|'"),
    (1e-3, "mm|millimetre|millimetres|millimeter|millimeters"),
    (1e-2, "cm|centimetre|centimetres|centimeter|centimeters"),
    (1.0, "m|metre|metres|meter|meters"),
)
_LENGTH = _spellings(*_LENGTH_ROWS)
_DISTANCE = _spellings(*_LENGTH_ROWS, (YARD, "yd|yds|yard|yards"))
_MASS = _spellings(
    (GRAIN, "gr|grs|grain|grains"),
    (1e-3, "g|gram|grams|gramme|grammes"),
    (1e-6, "mg|milligram|milligrams"),
    (1.0, "kg|kilogram|kilograms"),
    (OUNCE, "oz|ounce|ounces"),
)
_FORCE = _spellings(
    (POUND_FORCE, "lb|lbs|lbf|#|pound|pounds"),
    (1.0, "n|newton|newtons"),
    (KILOGRAM_FORCE, "kgf|kg"),  # a bow scale that shows kg shows kilograms-force
)
_SPEED = _spellings(
    (FOOT, "fps|ft/s|feet/s|ft/sec|feet per second|ft per second"),
    (1.0, "m/s|mps|m/sec|metres per second|meters per second"),
    (1.0 / 3.6, "km/h|kph"),
    (5280 * FOOT / 3600, "mph|mi/h"),
)
_ANGLE = _spellings((DEGREE, "deg|degree|degrees|°"), (1.0, "rad|radian|radians"), (1e-3, "mrad"))
_DENSITY = _spellings(
    (GRAIN / INCH, "gr/in|gpi|gr per in|gr per inch|gr/inch|grains/inch|grains per inch"),
    (1e-3, "g/m|g per m|grams per metre|grams per meter"),
    (1.0, "kg/m"),
)
_SPINE = _spellings(*_LENGTH_ROWS[:1], *_LENGTH_ROWS[2:4])
_AREA = _spellings(
    (INCH**2, "in2|in^2|sq in|square in|square inch|square inches"),
    (1e-6, "mm2|mm^2|sq mm|square mm"),
    (1e-4, "cm2|cm^2|sq cm|square cm"),
    (1.0, "m2|m^2"),
)
_FRACTION = _spellings((0.01, "%|percent|per cent"))
_ENERGY = _spellings(
    (1.0, "j|joule|joules"), (FOOT_POUND, "ft lbf|ft lb|ft-lb|ft-lbs|ft lbs|ft-lbf|foot pounds|foot-pounds")
)
_MOMENTUM = _spellings((1.0, "kg m/s|n s"), (POUND_FORCE, "lbf s|lb s"))
_TIME = _spellings((1.0, "s|sec|second|seconds"), (1e-3, "ms|millisecond|milliseconds"), (60.0, "min|minute|minutes"))
_FREQUENCY = _spellings((1.0, "hz"))
_MASS_PER_FORCE = _spellings(
    (GRAIN / POUND_FORCE, "gr/lb|gr per lb|grains per pound|gr/lbf"), (1e-3, "g/n"), (1.0, "kg/n")
)

TABLE: MappingProxyType[Kind, KindRow] = MappingProxyType(
    {
        Kind.LENGTH: KindRow(
            _LENGTH,
            Style("in", INCH, least=2),
            Style("mm", 1e-3, least=1),
            0.0,
            5.0,
            ("29 1/2 in", "749 mm"),
            signed=True,
        ),
        Kind.DISTANCE: KindRow(
            _DISTANCE, Style("yd", YARD, least=1), Style("m", 1.0, least=1), 0.01, 300.0, ("20 yd", "18 m")
        ),
        Kind.MASS: KindRow(
            _MASS,
            Style("gr", GRAIN, least=1, most=1),
            Style("g", 1e-3, least=1, most=2),
            0.0,
            1.0,
            ("350 gr", "22.7 g"),
        ),
        Kind.FORCE: KindRow(
            _FORCE,
            Style("lb", POUND_FORCE, least=1),
            Style("lb", POUND_FORCE, least=1),  # bows are sold and spoken of in pounds everywhere
            0.0,
            1000.0,
            ("70 lb", "311 N"),
            beside=Style("N", 1.0, 0),
        ),
        Kind.SPEED: KindRow(
            _SPEED, Style("ft/s", FOOT, least=1), Style("m/s", 1.0, least=1), 0.0, 200.0, ("280 ft/s", "85 m/s")
        ),
        Kind.ANGLE: KindRow(
            _ANGLE,
            Style("deg", DEGREE, most=2),
            Style("deg", DEGREE, most=2),
            0.0,
            4 * math.pi,
            ("20 deg", "0.35 rad"),
            signed=True,
        ),
        Kind.LINEAR_DENSITY: KindRow(
            _DENSITY,
            Style("gr/in", GRAIN / INCH, least=2),
            Style("gr/in", GRAIN / INCH, least=2),  # what shaft makers state everywhere
            0.0,
            0.2,
            ("8.9 gr/in", "22.7 g/m"),
            beside=Style("g/m", 1e-3, 2),
        ),
        Kind.SPINE: KindRow(
            _SPINE,
            Style("", INCH / 1000.0, 0),  # shafts are marked in thousandths of an inch everywhere
            Style("", INCH / 1000.0, 0),
            1e-6,
            0.2,
            ("0.340 in", "340"),
            beside=Style("mm", 1e-3, 2),
        ),
        Kind.AREA: KindRow(_AREA, Style("in2", INCH**2), Style("mm2", 1e-6), 0.0, 1.0, ("0.6 in2", "390 mm2")),
        Kind.FRACTION: KindRow(_FRACTION, Style("%", 0.01), Style("%", 0.01), 0.0, 1.0, ("80 %", "0.8")),
        Kind.ENERGY: KindRow(
            _ENERGY, Style("ft lbf", FOOT_POUND), Style("J", 1.0), 0.0, 1e4, ("69.6 ft lbf", "94.4 J")
        ),
        Kind.MOMENTUM: KindRow(
            _MOMENTUM, Style("lbf s", POUND_FORCE), Style("kg m/s", 1.0), 0.0, 1e3, ("0.5 lbf s", "2.2 kg m/s")
        ),
        Kind.TIME: KindRow(_TIME, Style("ms", 1e-3), Style("ms", 1e-3), 0.0, 1e6, ("15 ms", "20 min")),
        Kind.FREQUENCY: KindRow(_FREQUENCY, Style("Hz", 1.0), Style("Hz", 1.0), 0.0, 1e6, ("91 Hz", "278.2 Hz")),
        Kind.MASS_PER_FORCE: KindRow(
            _MASS_PER_FORCE,
            Style("gr/lb", GRAIN / POUND_FORCE),
            Style("gr/lb", GRAIN / POUND_FORCE),
            0.0,
            0.01,
            ("5 gr/lb", "0.0728 g/N"),
            beside=Style("g/N", 1e-3, 4),
        ),
    }
)
