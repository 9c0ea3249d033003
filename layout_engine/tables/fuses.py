"""Fuses: ratings that are sold, how long they last, what they break. A, s, V, A2s."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from layout_engine.tables.sourced import COMMON_PRACTICE, Sourced

ISO_8820 = "ISO 8820-3"
_TYPE_C = f"{ISO_8820} type C, maker's data sheet, 35 and 40 A rows"
_TYPE_E = f"{ISO_8820} type E, maker's data sheet"
_REMEMBERED = "(from memory)"

CONTINUOUS_SHARE = Sourced(
    0.75, "1", f"{COMMON_PRACTICE}; 80 % is the other usual figure", "at 25 C"
)
# What a fuse still carries of its rating in hot air, by form; a form that is missing was not read.
HOT_SHARE: dict[str, Sourced] = {
    "blade_high": Sourced(34 / 40, "1", _TYPE_E, "40 A carries 34 A at 65 C; linear from 25 C on"),
}
HOT_SHARE_AIR, RATED_AIR = 65.0, 25.0  # C: where that share was read, and where ratings hold
NO_HOT_SHARE = "not rerated for hot air: no published figure was read for this form"
CFR_SHARE_OF_WIRE = Sourced(150.0, "%", "33 CFR 183.455(c)(1)", "of Table 5; not followed here")
FROM_SOURCE = Sourced(178.0, "mm", "33 CFR 183.455(b)(1), 7 in; ABYC E-11")
FROM_SOURCE_SHEATHED = Sourced(1016.0, "mm", "33 CFR 183.455(b)(2), 40 in")
FROM_SOURCE_ISO = Sourced(200.0, "mm", "ISO 10133:2000 8.1 (quoted)")
LARGE_BATTERY_BREAKING = Sourced(5000.0, "A", "ABYC E-11 Table V-A, trade reprint", "CCA over 1100")


@dataclass(frozen=True, slots=True)
class TimeBand:
    """Shortest and longest time to open, s, at a share of the rating."""

    times_rating: float
    least: float
    most: float
    source: str


@dataclass(frozen=True)
class FuseForm:
    """A form of fuse: its ratings, A; time bands, rising; breaking capacity, A, and volts DC."""

    key: str
    name: str
    ratings: tuple[float, ...]
    ratings_source: str
    bands: tuple[TimeBand, ...]
    breaking: Sourced
    volts: Sourced


_C = (
    TimeBand(1.1, 360_000.0, inf, f"{ISO_8820} type C {_REMEMBERED}; one sheet says 100 %"),
    TimeBand(1.35, 0.75, 600.0, _TYPE_C),
    TimeBand(1.6, 0.25, 50.0, _TYPE_C),
    TimeBand(2.0, 0.15, 5.0, _TYPE_C),
    TimeBand(3.5, 0.08, 0.5, _TYPE_C),
    TimeBand(6.0, 0.0, 0.15, _TYPE_C),
)
_E = (
    TimeBand(1.1, 360_000.0, inf, f"{ISO_8820} type E {_REMEMBERED}"),
    TimeBand(1.35, 60.0, 1800.0, f"{_TYPE_E} {_REMEMBERED}"),
    TimeBand(2.0, 2.0, 50.0, f"{_TYPE_E}; least time {_REMEMBERED}"),
    TimeBand(3.5, 0.2, 7.0, f"{_TYPE_E} {_REMEMBERED}"),
    TimeBand(6.0, 0.04, 1.0, _TYPE_E),
)
_GLASS = (
    TimeBand(1.5, 1800.0, inf, f"IEC 60127-2 sheet 2 {_REMEMBERED}"),
    TimeBand(2.1, 0.0, 1800.0, f"IEC 60127-2 sheet 2 {_REMEMBERED}"),
    TimeBand(2.75, 0.01, 2.0, f"IEC 60127-2 sheet 2 {_REMEMBERED}"),
    TimeBand(4.0, 0.003, 0.3, f"IEC 60127-2 sheet 2 {_REMEMBERED}"),
    TimeBand(10.0, 0.0, 0.02, "IEC 60127-2 sheet 2, 5x20 fast, low breaking"),
)
SOLD_AS = {  # what a fuse of each form is asked for as
    "blade": "blade, ISO 8820-3 type C", "blade_high": "blade, ISO 8820-3 type E",
    "glass_5x20": "glass, 5 x 20 mm", "bolted": "bolted",
}
FUSE_FORMS: dict[str, FuseForm] = {
    "blade": FuseForm(
        "blade", "blade fuse", (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40),
        f"{ISO_8820} type C", _C, Sourced(1000.0, "A", _TYPE_C, "at 32 V DC"),
        Sourced(32.0, "V", _TYPE_C, "58 V types exist"),
    ),
    "blade_high": FuseForm(
        "blade_high", "large blade fuse", (20, 30, 40, 50, 60, 70, 80, 100),
        f"{ISO_8820} type E {_REMEMBERED}; 100 A exists at some makers", _E,
        Sourced(1000.0, "A", _TYPE_E, "at 32 V DC"), Sourced(32.0, "V", _TYPE_E),
    ),
    "glass_5x20": FuseForm(
        "glass_5x20", "glass fuse 5 x 20",
        (0.5, 0.63, 0.8, 1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10),
        f"IEC 60127 preferred numbers {_REMEMBERED}", _GLASS,
        Sourced(35.0, "A", "IEC 60127-2 letter L", "or 10 x In, the greater; an AC test"),
        Sourced(32.0, "V", COMMON_PRACTICE, "250 V AC is no DC rating: ask for the DC one"),
    ),
    "bolted": FuseForm(
        "bolted", "bolted strip fuse", (30, 40, 50, 60, 70, 80, 100),
        f"{ISO_8820} type F size {_REMEMBERED}", _E,
        Sourced(2000.0, "A", f"trade data sheets {_REMEMBERED}", "at 32 V DC; see the sheet"),
        Sourced(58.0, "V", f"trade data sheets {_REMEMBERED}", "32 V types exist"),
    ),
}
# Energy that lets a fuse melt, A2s, at its rating.
MELTING: dict[tuple[str, float], Sourced] = {
    ("blade_high", 40.0): Sourced(8500.0, "A2s", _TYPE_E),
    ("blade", 40.0): Sourced(3300.0, "A2s", _TYPE_C),
}
BLADE_COLOURS: dict[float, str] = {
    1: "black", 2: "grey", 3: "violet", 4: "pink", 5: "tan", 7.5: "brown", 10: "red", 15: "blue",
    20: "yellow", 25: "clear/white", 30: "green", 40: "orange/amber",
}  # type C only, ISO 8820-3 / DIN 72581-3, second-hand; 35 A differs between sources
TIME_LAG_GLASS = TimeBand(10.0, 0.02, 0.3, "IEC 60127-2 sheet 3, 5x20 time-lag glass")


def glass_breaking(rating: float) -> float:
    """Breaking capacity [A] of a low-breaking glass fuse: 35 A or 10 x In, the greater."""
    return max(FUSE_FORMS["glass_5x20"].breaking.value, 10 * rating)


def hot_share(form: str, air: float) -> Sourced:
    """Share of its rating that a fuse carries in air of a temperature [C]; its source says how.

    >>> round(hot_share("blade_high", 65.0).value * 40)
    34
    """
    read = HOT_SHARE.get(form)
    if read is None:
        return Sourced(1.0, "1", COMMON_PRACTICE, NO_HOT_SHARE)
    lost = (1.0 - read.value) * (air - RATED_AIR) / (HOT_SHARE_AIR - RATED_AIR)
    return Sourced(min(1.0, max(0.0, 1.0 - lost)), "1", read.source, read.note)


def smallest_rating(form: str, amps: float, air: float = RATED_AIR) -> float | None:
    """The smallest rating [A] of a form that carries `amps` at 75 %; None over its largest.

    air: round it [C].

    >>> smallest_rating("blade", 7)
    10
    """
    share = CONTINUOUS_SHARE.value * hot_share(form, air).value  # 0 in air that alone opens it
    return next((r for r in FUSE_FORMS[form].ratings if r * share >= amps - 1e-9), None)


def largest_rating(form: str, amps: float) -> float | None:
    """The largest rating [A] of a form not over `amps`; None under its smallest."""
    return max((r for r in FUSE_FORMS[form].ratings if r <= amps + 1e-9), default=None)


def times_rating(rating: float, *amps: float) -> float:
    """How many times its rating [A] a fuse carries with these currents [A] together.

    >>> times_rating(10, 9, 9)
    1.8
    """
    return sum(amps) / rating


def band_points(form: str, times_rating: float) -> tuple[TimeBand | None, TimeBand | None]:
    """The highest published point that a multiple of the rating reaches, and the next from it on.

    None where there is no such point.

    >>> [point.times_rating for point in band_points("blade", 1.8)]
    [1.6, 2.0]
    """
    bands = FUSE_FORMS[form].bands
    below = [band for band in bands if band.times_rating <= times_rating + 1e-9]
    above = [band for band in bands if band.times_rating >= times_rating - 1e-9]
    return (below[-1] if below else None), (above[0] if above else None)


def opening_time(form: str, times_rating: float) -> tuple[float, float]:
    """Least and greatest time [s] to open at a multiple of the rating.

    Between two published points the least is that of the higher, the greatest that of the lower
    one; under the first point it need not open at all: (inf, inf).
    """
    reached, following = band_points(form, times_rating)
    if reached is None:
        return inf, inf
    return (following.least if following else 0.0), reached.most
