"""What the workings of the supply say, worked out again from their values by formulas of our own.

Each formula is written anew from its textbook or standard; nothing of the engine is called. The
formula's text, up to the first bracket with a case in it, picks the check.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from math import atan, cos, inf, log, pi, sin, sqrt
from typing import Any

import pytest

from layout_engine.working import Working

Values = dict[str, float]
Point = tuple[float, float, float]  # times the rating, least and most time to open, s
G_WIRE = 273.15


def every(at: Values, *starts: str) -> list[float]:
    """The values whose symbol is one of these with a number behind it."""
    return [v for k, v in at.items() if re.fullmatch(rf"(?:{'|'.join(starts)})\d+", k)]


def drawn(at: Values) -> float:
    """The sum of what is drawn."""
    return sum(every(at, "I"))


def _emf_constant(at: Values) -> float:
    ohms = at["V"] / at["Is"]
    assert ohms == _near(at["R"])
    return (at["V"] - at["I0"] * ohms) * 60 / (2 * pi * at["n0"])


def _near(value: float | None) -> object:
    return pytest.approx(value, rel=1e-6, abs=1e-9)


def running(at: Values) -> float:
    """A at the motor from mass, slope, rolling, wheel, gear (mechanics; direct-current motor)."""
    angle = atan(at["s"])
    force = at["m"] * at["g"] * (at["c"] * cos(angle) + sin(angle))
    assert force == _near(at["F"])
    ke = _emf_constant(at)
    return at["I0"] + force * at["D"] / (2 * at["N"] * at["G"] * at["e"] * ke)


def fastest(at: Values) -> float:
    """m/s with nominal volts."""
    return (at["V"] - at["I"] * at["R"]) * at["D"] / (2 * at["G"] * _emf_constant(at))


def free_speed(at: Values) -> float:
    """km/h at nominal volts: rolling without slip."""
    found = 3.6 * pi * at["D"] * at["n0"] / (60 * at["G"])
    assert found == _near(at["v0"])
    return found


def balance(at: Values) -> float:
    """A of a thin wire: both sides of the heat balance must agree, then the bundle's factor."""
    ohms = at["r20"] / 1000 * (1 + 0.00393 * (at["Tr"] - 20))
    assert ohms * 1000 == _near(at["R"])
    wall = log(at["D"] / at["d"]) / (2 * pi * at["ki"])
    assert wall == _near(at["Ri"])
    outside = (at["hc"] + at["hr"]) * pi * at["D"] / 1000 * (at["Ts"] - at["Ta"])
    hot, air = at["Ts"] + G_WIRE, at["Ta"] + G_WIRE
    assert at["hr"] == _near(0.9 * 5.670374419e-8 * (hot**4 - air**4) / (hot - air))
    assert (at["Tr"] - at["Ts"]) / wall == _near(outside)
    assert at["I"] == _near(sqrt(outside / ohms))
    return min(at["I"], at["It"]) * at["kb"]


def air_round(at: Values) -> None:
    """The warm end of the range of the air."""
    if "Tm" in at:
        assert at["Ta"] == _near(at["Tm"] + at["q"] * at["dT"] / (1 - at["q"]))


def by_its_skin(at: Values, surface: float) -> float:
    """W that the outside gives off at a temperature."""
    air_round(at)
    rise = surface - at["Ta"]
    return float((at["c"] * (rise / at["L"]) ** 0.25 + at["hr"]) * at["A"] * rise)


def by_its_sink(at: Values) -> float:
    """C of a heat sink."""
    air_round(at)
    return at["Ta"] + at["P"] * at["Rth"] / at["f"]


def peukert(at: Values) -> float:
    """Minutes (Peukert 1897), its exponent only over the rated current."""
    rated = at["C"] / at["H"]
    exponent = at["n"] if at["I"] > rated else 1.0
    assert at["I"] == pytest.approx(drawn(at), abs=1e-5)
    return float(60 * at["u"] * at["H"] * (rated / at["I"]) ** exponent)


def mix(at: Values) -> float:
    """Minutes of a mix of cases."""
    names = [k[2:] for k in at if k.startswith("s ")]
    return 1 / sum(at[f"s {name}"] / at[f"t {name}"] for name in names)


def clock(at: Values) -> float:
    """Seconds to the limit of the insulation (IEC 60364-5-54 annex A)."""
    if at["I"] <= at["Iz"]:
        return inf
    warm = at["Ta"] + max(0.0, at["Tr"] - at["Ta"]) * min(1.0, at["Ib"] / at["Iz"]) ** 2
    assert warm == _near(at["T1"])
    k = sqrt(3.45e-3 * 254.5 / 17.241e-6 * log((234.5 + at["T2"]) / (234.5 + at["T1"])))
    assert k == _near(at["k"])
    return (k * at["S"] / at["I"]) ** 2


def short(at: Values) -> float:
    """A of a dead short, piece by piece."""
    return at["V"] / (at["Rb"] + sum(every(at, "R"))) + sum(every(at, "Ip"))


def of_wire(at: Values) -> float:
    """V lost in one wire: ohm/km by its length when hot, and its contacts."""
    hot = 1 + at["a"] * (at["T"] - 20)
    return at["I"] * (at["r20"] * at["L"] / 1e6 * hot + at["Rc"])


def effective(at: Values) -> float:
    """K: P over k and the effective area (VDE 0660 part 500)."""
    watts = sum(every(at, "P", "Pw")) + at.get("Po", 0.0)
    return watts / (at["k"] * (at["fs"] * at["As"] + at["ft"] * at["At"]))


def rushing(at: Values) -> float:
    """A into empty capacitors."""
    ohms = sum(every(at, "R", "Rb", "Rc")) + at.get("Ro", 0.0)
    return sum(every(at, "V")) / ohms


def along(at: Values) -> float:
    """V of a terminal: the source's less what is lost on the way."""
    lost = sum(v for k, v in at.items() if re.fullmatch(r"I\d+ R\d+", k))
    return at.get("Vs", at.get("V0", 0.0)) - lost


def held(at: Values) -> float:
    """V of a rail that packs hold."""
    return at["Vf"] + at["Rb"] * max(0.0, at["E"] - at["Vf"]) / (at["Rm"] + at["Rb"])


def braking(at: Values) -> float:
    """V of capacitors that take up all motion: energy balance without losses."""
    return sqrt(at["V0"] ** 2 + at["m"] * at["v"] ** 2 / at["C"])


CHECKS: tuple[tuple[str, Callable[[Values], float]], ...] = (
    ("I = sum of what is", drawn),
    ("Ib = sum of what is drawn", drawn),
    ("I = half of the sum of all that meets there", lambda at: drawn(at) / 2),
    ("In >= Ib / (s kt)", lambda at: drawn(at) / (at["s"] * at["kt"])),
    ("V = Vs - sum(I R)", along),
    ("V = V0 - sum(I R)", along),
    ("V = V+ - V-", lambda at: at["V+"] - at["V-"]),
    ("V = Vo - I Rb", lambda at: at["Vo"] - drawn(at) * at["Rb"]),
    ("dV = I Rb", lambda at: drawn(at) * at["Rb"]),
    ("dV = sum of I R", lambda at: sum(v for k, v in at.items() if k.startswith("dV "))),
    ("dV = I R, this wire alone", of_wire),
    ("Ik = V / (Rb + sum of R)", short),
    ("I = V / R at t = 0", rushing),
    ("I = I0 + F D", running),
    ("v = (V - I R) D", fastest),
    ("I = sqrt(I0 Is)", lambda at: sqrt(at["I0"] * at["Is"])),
    ("I = (I0 + Is) / 2", lambda at: (at["I0"] + at["Is"]) / 2),
    ("Iz = It sqrt", lambda at: at["It"] * sqrt(max(0.0, at["Tc"] - at["Ta"]) / (at["Tc"] - 30))
     * at["kb"]),
    ("Iz = 0 where Ta >= Tr", lambda at: 0.0 if at["Ta"] >= at["Tr"] else inf),
    ("Iz = min(I, It) kb", balance),
    ("E = Vn v / v0", lambda at: at["Vn"] * at["v"] / free_speed(at)),
    ("V = Vn v / v0 - Vd", lambda at: at["Vn"] * at["v"] / free_speed(at) - at["Vd"]),
    ("v = v0 Vmax / Vn", lambda at: free_speed(at) * at["Vmax"] / at["Vn"]),
    ("V = Vf + Rb (E - Vf)", held),
    ("V = the higher of Vf and E", lambda at: max(at["Vf"], at["E"])),
    ("V = sqrt(V0^2 + m v^2 / C)", braking),
    ("E = C V^2 / 2", lambda at: at["C"] * at["V"] ** 2 / 2),
    ("t = -R C ln(1 - a)", lambda at: -at["R"] * at["C"] * log(1 - at["a"])),
    ("P = V^2 / R", lambda at: at["V"] ** 2 / at["R"]),
    ("t = f u C / (I - Id)", lambda at: at["f"] * at["u"] * at["C"] / (at["I"] - at["Id"])),
    ("Vf = n v", lambda at: at["n"] * at["v"]),
    ("Ta = To + dT + ds;", lambda at: at["To"] + effective(at) + at["ds"]),
    ("Ta = To + dT + ds", lambda at: at["To"] + at["dT"] + at["ds"]),
    ("dT = sum of P", effective),
    ("dT = a G Ap", lambda at: at["a"] * at["G"] * at["Ap"] / (at["h"] * at["A"])),
    ("P = sum of what is lost and used", lambda at: sum(every(at, "P"))),
    ("Ts = Ta + P Rth / f", by_its_sink),
    ("t = 60 u H", peukert),
    ("1/t = sum", mix),
    ("t = (k S / I)^2", clock),
    ("S = pi (0.127", lambda at: pi * (0.127 * 92 ** ((36 - at["n"]) / 39)) ** 2 / 4),
    ("R = sum of R", lambda at: sum(every(at, "R"))),
    ("1/R = sum of 1/R", lambda at: 1 / sum(1 / ohms for ohms in every(at, "R"))),
    ("l = sum of what lies", lambda at: sum(every(at, "l"))),
    ("L = sum of the wires", lambda at: sum(v for k, v in at.items() if k.startswith("L "))),
)  # fmt: skip
# The person or the type says them: there is nothing to work out.
STATED = ("as the type states it", "as its type states it", "as assumed", "as fitted",
          "as the size names it", "from the table", "nothing is fed", "nothing feeds it")
# ISO 8820-3 types C and E, IEC 60127-2 sheet 2, as electrical.csv and its notes have them.
BANDS: dict[str, tuple[Point, ...]] = {
    "type C": ((1.1, 360_000, inf), (1.35, 0.75, 600), (1.6, 0.25, 50), (2, 0.15, 5),
               (3.5, 0.08, 0.5), (6, 0, 0.15)),
    "type E": ((1.1, 360_000, inf), (1.35, 60, 1800), (2, 2, 50), (3.5, 0.2, 7), (6, 0.04, 1)),
    "IEC 60127": ((1.5, 1800, inf), (2.1, 0, 1800), (2.75, 0.01, 2), (4, 0.003, 0.3),
                  (10, 0, 0.02)),
}  # fmt: skip
RATINGS = {
    "type C": (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40),
    "type E": (20, 30, 40, 50, 60, 70, 80, 100),
    "IEC 60127": (0.5, 0.63, 0.8, 1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10),
    "type F": (30, 40, 50, 60, 70, 80, 100),
}


def _named(table: dict[str, Any], source: str) -> Any:
    """The table's entry that a source names."""
    (found,) = [entry for name, entry in table.items() if name in source]
    return found


def longest(at: Values, working: Working) -> float:
    """Seconds until a fuse is surely open: the highest point of its band that is reached."""
    times = (short(at) if "Ik" in at else drawn(at)) / at["In"]
    if "m" not in at:
        assert times < 1.5
        return inf
    source = next(given.source for given in working.given if given.symbol == "m")
    point = max(p for p in _named(BANDS, source) if p[0] <= times + 1e-9)
    assert at["m"] == point[0]
    return float(point[2])


def shortest(at: Values, working: Working) -> float:
    """Seconds that a fuse surely lasts: the next point of its band."""
    times, points = at.get("I", drawn(at)) / at["In"], _named(BANDS, working.source)
    if times < points[0][0] - 1e-9:
        return inf
    beyond = [p for p in points if p[0] >= times - 1e-9]
    assert at.get("m") == (beyond[0][0] if beyond else None)
    return float(beyond[0][1]) if beyond else 0.0


def rating(at: Values, working: Working) -> float:
    """A: the smallest that is sold and suits the load, else the largest that its wire allows."""
    need, sold = drawn(at) / (at["s"] * at["kt"]), _named(RATINGS, working.source)
    assert working.result in sold
    if working.result >= need * (1 - 1e-9):
        return min(r for r in sold if r >= need * (1 - 1e-9))
    return max(r for r in sold if r <= at.get("Iz", inf))


LOOKED_UP: dict[str, Callable[[Values, Working], float]] = {
    "t = longest time": longest, "t = shortest time": shortest,
    "In = smallest standard rating": rating,
}  # fmt: skip
# Both sides of what is compared, where no formula behind it says more.
SIDES: dict[str, Callable[[Values], float]] = {
    "In": lambda at: at["In"],
    "Ih": lambda at: at["Ih"],
    "sum of In": lambda at: sum(every(at, "In")),
    "s kt In": lambda at: at["s"] * at["kt"] * at["In"],
    "k^2 S^2": lambda at: (at["k"] * at["S"]) ** 2,
    "I^2 t": lambda at: (at["Ik"] ** 2 * at["t"] if "t" in at else
                         at["m"] * at["Em"] * (at["In"] / at["Ie"]) ** 2),
    "Iz": lambda at: at["I"],  # a contact's rating, as its type states it
}  # fmt: skip


def compared(working: Working) -> tuple[float, float]:
    """Both sides of a working whose formula compares them, from its own values."""
    at = {given.symbol: given.value for given in working.given}
    one, other = working.formula.partition("; ")[0].split(" <= ")
    return _side(working.formula, one, at), _side(working.formula, other, at)


def _side(formula: str, name: str, at: Values) -> float:
    _, found, how = formula.partition(f"; {name} = ")
    for start, check in CHECKS:
        if found and f"{name} = {how}".startswith(start):
            return check(at)
    return SIDES[name](at)


def again(working: Working) -> float | None:
    """A working's result from its own values; None where it is stated. KeyError: not known here."""
    at = {given.symbol: given.value for given in working.given}
    assert len(at) == len(working.given), f"a symbol stands twice: {working.formula}"
    if working.formula.startswith("Ts at which P ="):
        assert by_its_skin(at, working.result) == _near_watts(at["P"])
        return working.result
    for start, look_up in LOOKED_UP.items():
        if working.formula.startswith(start):
            return look_up(at, working)
    if " <= " in working.formula.partition(";")[0]:
        figure, limit = compared(working)
        assert limit == _near(working.limit)
        return figure
    for start, check in CHECKS:
        if working.formula.startswith(start):
            return check(at)
    if any(words in working.formula for words in STATED):
        return None
    raise KeyError(working.formula)


def _near_watts(value: float) -> object:
    return pytest.approx(value, rel=1e-3)

