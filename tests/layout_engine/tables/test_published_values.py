"""Published and worked figures of tests/data/mechanical.csv against the tables' functions.

Each row of the file is either answered by one of our functions here (or, where it speaks of the
board in its body, by test_published_layouts.py) or left out below with its reason.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from layout_engine.tables import access, bending, fasteners, materials, paper, radio, screws
from tests.layout_engine.tables.published_rows import ROWS, Figures, Key, assert_row, row_id


def _thread(name: str) -> fasteners.Thread:
    return fasteners.thread(name)


def _holes(name: str) -> Figures:
    return tuple(fasteners.clearance_hole(name, fit) for fit in ("fine", "medium", "coarse"))


def _washer(name: str) -> Figures:
    return _thread(name).washer_diameter.value, _thread(name).washer_thickness.value


def _pan(name: str) -> Figures:
    return fasteners.head_diameter(name, "pan"), _thread(name).pan_height.value


def _large_washer(name: str) -> Figures:
    large = fasteners.LARGE_WASHERS[name]
    return large[0].value, large[1].value


def _framed(kind: str) -> Figures:
    # Unit load, side, modulus and thickness leave the coefficient alone.
    aspects = (1.0, 1.2, 1.4, 1.6, 1.8, 2.0)
    if kind == "stress":
        return tuple(bending.framed_plate_stress(1, 1, a, 1) for a in aspects)
    return tuple(bending.framed_plate_central_sag(1, 1, a, 1, 1) for a in aspects)


def _corner(aspect: float) -> Figures:
    modulus = 12 * (1 - 0.3**2)  # makes D = 1 for a thickness of 1
    return (bending.corner_held_sag(1, 1, aspect, modulus, 1),)


def _in_d_form(sag: float) -> Figures:
    return (sag / (12 * (1 - 0.3**2)),)


def _polycarbonate(sag: Callable[[float, float, float, float, float], float]) -> Figures:
    return (sag(20 / (300 * 200), 200, 1.5, 2300, 4),)


def _largest_span(key: str, thickness: float) -> Figures:
    modulus = materials.plate_material(key).long_term_modulus_mpa
    return (bending.largest_span(thickness, modulus, bending.spread_pressure(3, 400, 300)),)


def _nut(name: str) -> Figures:
    # The e of the standard is a minimum; the engine takes the sharp corner s / cos 30 instead.
    return _thread(name).nut_flats.value, math.nan, _thread(name).nut_height.value


def _paper(key: str) -> Figures:
    return paper.PAPERS[key].width.value, paper.PAPERS[key].height.value


def _least_hand() -> Figures:
    """Smallest opening, height then width, that `hand_passes` lets through."""
    tall = next(h for h in range(1, 200) if access.hand_passes(500, h))
    wide = next(w for w in range(1, 200) if access.hand_passes(w, tall))
    return float(tall), float(wide)


def _conducts(*keys: str) -> Figures:
    return tuple(float(not materials.plate_material(key).conducts) for key in keys)


def _usual_tip(which: Callable[[list[int]], int]) -> Figures:
    return (float(which([n for n in range(1, 30) if screws.tip_is_usual("M3", n * 0.5)])),)


def _mat(key: str, name: str) -> Figures:
    value = getattr(materials.plate_material(key), name)
    return (value.value,)


Q_HOLE = "hole diameter fine;medium;coarse"
Q_TAP = "tap drill, coarse thread"
Q_WASHER = "outer diameter;thickness, normal series"
Q_LARGE = "outer diameter;thickness, large series"
Q_PAN = "pan head diameter;height, max"
Q_NUT = "flats s max;corners e MIN;height m max"
Q_J = "knife-edge loss J(v)"
Q_SPAN = "largest span for sag L/200, two battens"
HOLE_THREADS = ("M2", "M2.5", "M3", "M3.5", "M4", "M5", "M6", "M8")
TAPPED = ("M2 x 0.4", "M2.5 x 0.45", "M3 x 0.5", "M4 x 0.7", "M6 x 1", "M8 x 1.25")

CHECKS: dict[Key, Callable[[], Figures]] = {
    **{("clearance-hole", Q_HOLE, t): lambda t=t: _holes(t) for t in HOLE_THREADS},
    **{
        ("tapped-hole", Q_TAP, t): lambda t=t: (_thread(t.split()[0]).tap_drill.value,)
        for t in TAPPED
    },
    **{("washer", Q_WASHER, t): lambda t=t: _washer(t) for t in ("M2", "M2.5", "M3", "M5", "M6")},
    **{
        ("washer", Q_LARGE, t): lambda t=t: _large_washer(t) for t in ("M3", "M4", "M5", "M6", "M8")
    },
    **{
        ("screw-head", Q_PAN, t): lambda t=t: _pan(t)
        for t in ("M2", "M2.5", "M3", "M4", "M5", "M6")
    },
    **{("hex-nut", Q_NUT, t): lambda t=t: _nut(t) for t in ("M2.5", "M4", "M5")},
    ("standoff", "usually stocked lengths", "M3 hex"): lambda: tuple(
        sorted({screws.standoff_length(n / 2) or 0.0 for n in range(1, 81)})
    ),
    ("screw-length", "nominal length series", "machine screws"): lambda: tuple(
        v.value for v in fasteners.SCREW_LENGTHS
    ),
    (
        "screw-length",
        "needed length, through-bolt",
        "plate 4 + board 1.6 + washer 0.5 + M3 nut 2.4 + 2 pitches 1.0",
    ): lambda: (screws.through_bolt_need("M3", 4 + 1.6 + 0.5),),
    ("screw-length", "chosen length, through-bolt", "need 9.5"): lambda: (
        screws.through_bolt_length("M3", 6.1) or 0.0,
    ),
    ("screw-length", "tip beyond nut", "10 mm screw, grip 6.1, nut 2.4"): lambda: (
        screws.tip_beyond_nut("M3", 10, 6.1),
    ),
    (
        "screw-length",
        "allowed length window, plate to standoff",
        "plate 5 + washer 0.5; engagement 3 to 6 (thread depth 6)",
    ): lambda: screws.standoff_window("M3", 5.5, 6),
    (
        "screw-length",
        "two screws in one through-tapped standoff",
        "standoff 8; bottom 10 (grip 5.5) and top 6 (grip 2.1)",
    ): lambda: (screws.tips_overlap(8, (10, 5.5), (6, 2.1)),),
    ("screw-length", "same with standoff 10", "bottom 10, top 6"): lambda: (
        screws.tips_overlap(10, (10, 5.5), (6, 2.1)),
    ),
    (
        "engagement",
        "minimum in plastic (nylon standoff, self-tapping)",
        "M3; 2.0 x d",
    ): lambda: (screws.standoff_window("M3", 0, 20, "plastic")[0],),
    ("protrusion", "threads beyond nut, minimum", "any"): lambda: _usual_tip(min),
    ("protrusion", "threads beyond nut, where practicable at most", "any"): lambda: _usual_tip(max),
    ("expansion", "length change", "acrylic 70e-6/K, 400 mm, 30 K"): lambda: (
        materials.expansion_mm("acrylic", 400, 30),
    ),
    ("expansion", "length change", "PVC foam 80e-6/K, 300 mm, 25 K"): lambda: (
        materials.expansion_mm("pvc_foam", 300, 25),
    ),
    ("expansion", "length change", "glass-epoxy 14e-6/K, 300 mm, 25 K"): lambda: (
        materials.expansion_mm("fr4", 300, 25),
    ),
    (
        "hole-pattern",
        "largest spacing error two clearance holes absorb",
        "M3 screw 3.0, hole 3.4, tapped partner",
    ): lambda: (fasteners.hole_play(3.0, fasteners.medium_hole("M3")),),
    (
        "plate-bending",
        "beta, uniform load, 4 edges simply supported",
        "a/b as above; s = beta q b^2/t^2",
    ): lambda: _framed("stress"),
    (
        "plate-bending",
        "alpha, central load, 4 edges simply supported",
        "a/b as above; y = alpha W b^2/(E t^3)",
    ): lambda: _framed("central"),
    (
        "plate-bending",
        "alpha in the D form, uniform, square",
        "w = alpha q a^4/D; nu 0.3",
    ): lambda: _in_d_form(bending.framed_plate_sag(1, 1, 1, 1, 1)),
    (
        "plate-bending",
        "alpha in the D form, central load, square",
        "w = alpha P a^2/D",
    ): lambda: _in_d_form(bending.framed_plate_central_sag(1, 1, 1, 1, 1)),
    (
        "plate-bending",
        "alpha, uniform, square, held at 4 corners only",
        "w = alpha q a^4/D; nu 0.3",
    ): lambda: _corner(1.0),
    (
        "plate-bending",
        "alpha, uniform, 1.5:1, held at 4 corners only",
        "w = alpha q b^4/D; b short side; nu 0.3",
    ): lambda: _corner(1.5),
    (
        "plate-bending",
        "deflection, 20 N spread",
        "polycarbonate 300 x 200 x 4, E 2300 MPa, edges held",
    ): lambda: _polycarbonate(bending.framed_plate_sag),
    ("plate-bending", "same, held by 4 corner screws", "as above"): lambda: _polycarbonate(
        bending.corner_held_sag
    ),
    (
        "plate-bending",
        "strip on two battens, central 30 N",
        "span 300, width 400, t 10, E 1000",
    ): lambda: (bending.strip_central_sag(30, 300, 400, 10, 1000),),
    (
        "plate-bending",
        Q_SPAN,
        "PVC foam t 10, long-term E 500, 3 kg on 400 x 300",
    ): lambda: _largest_span("pvc_foam", 10),
    (
        "plate-bending",
        Q_SPAN,
        "polycarbonate t 4, long-term E 1150, same load",
    ): lambda: _largest_span("polycarbonate", 4),
    ("plate-bending", "sag limit default", "span 300; L/200"): lambda: (bending.sag_limit(300),),
    ("material", "linear expansion", "PMMA (acrylic) sheet"): lambda: _mat("acrylic", "expansion"),
    ("material", "density", "polycarbonate sheet"): lambda: _mat("polycarbonate", "density"),
    ("material", "tensile modulus", "polycarbonate sheet"): lambda: _mat(
        "polycarbonate", "modulus"
    ),
    ("material", "continuous service temperature", "polycarbonate sheet"): lambda: _mat(
        "polycarbonate", "service"
    ),
    ("material", "tensile modulus", "HDPE sheet"): lambda: _mat("hdpe", "modulus"),
    ("material", "linear expansion", "HDPE sheet"): lambda: _mat("hdpe", "expansion"),
    ("material", "continuous service temperature", "HDPE sheet"): lambda: _mat("hdpe", "service"),
    ("material", "density", "PVC foam board"): lambda: _mat("pvc_foam", "density"),
    ("material", "modulus", "PVC foam board"): lambda: _mat("pvc_foam", "modulus"),
    ("material", "linear expansion", "PVC foam board"): lambda: _mat("pvc_foam", "expansion"),
    ("material", "continuous service temperature", "PVC foam board"): lambda: _mat(
        "pvc_foam", "service"
    ),
    ("material", "bending modulus along face grain", "plywood"): lambda: _mat("plywood", "modulus"),
    ("material", "density", "plywood"): lambda: _mat("plywood", "density"),
    ("material", "specific gravity", "glass-epoxy FR-4/G10"): lambda: _mat("fr4", "density"),
    (
        "material",
        "flexural modulus lengthwise, minimum engineering value",
        "glass-epoxy FR-4/G10",
    ): lambda: _mat("fr4", "modulus"),
    ("material", "service temperature", "glass-epoxy FR-4/G10"): lambda: _mat("fr4", "service"),
    ("material", "linear expansion in plane", "glass-epoxy FR-4/G10"): lambda: _mat(
        "fr4", "expansion"
    ),
    (
        "material",
        "non-conductive",
        "acrylic; polycarbonate; HDPE; PVC foam; dry plywood; FR-4",
    ): lambda: _conducts("acrylic", "polycarbonate", "hdpe", "pvc_foam", "plywood", "fr4"),
    (
        "material",
        "non-conductive",
        "aluminium; aluminium-faced sandwich sheet; carbon laminate",
    ): lambda: _conducts("aluminium", "aluminium_composite"),
    **{
        ("radio", "wavelength", f"{mhz} MHz"): lambda mhz=mhz: (radio.wavelength(mhz),)
        for mhz in (868, 915, 2440, 5800)
    },
    ("radio", "keep-away, quarter wave", "868 MHz"): lambda: (radio.quarter_wave(868),),
    ("radio", "free-space loss", "868 MHz, 50 m"): lambda: (radio.free_space_loss(868, 0.05),),
    **{("radio", Q_J, f"v={v}"): lambda v=v: (radio.knife_edge_loss(v),) for v in (0.5, 1, 2.4)},
    (
        "radio",
        "v of a metal lip",
        "2440 MHz; lip 50 mm above the ray; 0.1 m and 10 m away",
    ): lambda: (radio.knife_edge_v(2440, 50, 100, 10_000),),
    **{
        ("radio", "skin depth", f"{metal}, 2440 MHz"): lambda metal=metal: (
            radio.skin_depth_um(2440, radio.RESISTIVITY[metal].value),
        )
        for metal in ("copper", "aluminium")
    },
    ("radio", "absorption in 12 um aluminium foil", "2440 MHz"): lambda: (
        radio.foil_absorption(2440, radio.RESISTIVITY["aluminium"].value, 12),
    ),
    ("radio", "longest slot before it leaks freely", "2440 MHz"): lambda: (
        radio.longest_slot(2440),
    ),
    (
        "centre-of-gravity",
        "x of centre",
        "2.0 kg at 50; 0.5 kg at 300; 1.5 kg at 120 mm",
    ): lambda: (access.centre_of_mass((2.0, 0.5, 1.5), (50, 300, 120)),),
    ("tip", "static stability factor", "track 300; height 200"): lambda: (
        access.stability_factor(300, 200),
    ),
    ("tip", "side tip angle", "track 300; height 200"): lambda: (access.tip_angle(150, 200),),
    ("paper", "width x height", "A4"): lambda: _paper("a4"),
    ("paper", "width x height", "A3"): lambda: _paper("a3"),
    ("paper", "width x height", "US Letter"): lambda: _paper("letter"),
    ("pdf", "millimetres per point", "1 pt"): lambda: (1 / paper.points(1),),
    ("pdf", "points for a 100 mm bar", "100 mm"): lambda: (paper.points(100),),
    ("pdf", "A4 page box", "210 x 297"): lambda: tuple(paper.points(v) for v in _paper("a4")),
    ("printer", "scale when A4 is fitted on Letter", "paper only"): lambda: (
        100 * paper.fitted_scale(*_paper("a4"), *_paper("letter")),
    ),
    ("printer", "scale when A4 is fitted inside 1/6 in margins on A4", ""): lambda: (
        100 * paper.fitted_scale(210, 297, 210 - 25.4 / 3, 297 - 25.4 / 3),
    ),
    (
        "printer",
        "sheets for a 400 x 300 plate",
        "A4 landscape, margin 10, overlap 10",
    ): lambda: (float(paper.tiling(400, 300, paper.PAPERS["a4"]).sheets),),
    ("template", "hole x on the back-side sheet", "plate width 300; front x 42"): lambda: (
        paper.back_x(300, 42),
    ),
    ("access", "flat bare hand to wrist", "height x width"): _least_hand,
    (
        "control-spacing",
        "push button to rotary control or thumbwheel",
        "edge to edge",
    ): lambda: (access.control_gap("push", "rotary"),),
    ("control-spacing", "toggle to rotary control", "edge to edge"): lambda: (
        access.control_gap("toggle", "rotary"),
    ),
    ("control-spacing", "continuous rotary to rotary selector", "edge to edge"): lambda: (
        access.control_gap("rotary", "rotary"),
    ),
    ("control-spacing", "push button to toggle", "edge to edge"): lambda: (
        access.control_gap("push", "toggle"),
    ),
}

ON_THE_BOARD = "asserted on whole boards by test_published_layouts.py"
HEAT = "asserted by tests/layout_engine/heat/test_published_heat.py"
NO_WIRING = "wires and bundles are not routed yet"
NO_INCHES = "jobs use metric threads M2 to M8"
NO_SUCH_HEAD = "fixings of a job have pan or countersunk heads"
ROOM_TEXT = "a figure of access that no rule of this table uses"
LEFT_OUT: dict[str, str] = {
    "clearance-hole|minimum hole close;normal;loose": NO_INCHES,
    f"clearance-hole|{Q_HOLE}|M1.6": NO_INCHES,
    f"tapped-hole|{Q_TAP}|M1.6 x 0.35": NO_INCHES,
    "screw-head|cap head": NO_SUCH_HEAD,
    "screw-head|button head": NO_SUCH_HEAD,
    "standoff|usual across flats, hex": "spacers are drawn with the nut's corner circle",
    "standoff|length tolerance": "lengths are nominal, the rules keep 2 mm",
    "drill|": "the drills are those that the person owns",
    "engagement|least number of threads": "the engagement in diameters is the stricter one",
    "keep-out|": "one maker's habit, the rule takes the head or nut",
    "hole-edge|hole edge to sheet edge, laser-cut metal": "plates here are drilled",
    "hole-hole|centre distance, minimum, laser-cut metal": "plates here are drilled",
    "hole-slack|": "holes are drilled for the screw, slack is stated on the sheet",
    "plate-bending|same sheet 5 mm thick": "its sheet stands in a row that the file lacks",
    "geometry-sphere|": "no body is a sphere",
    "board-gap|": HEAT,
    "natural-convection|": HEAT,
    "fin-spacing|": HEAT,
    "enclosure|": HEAT,
    "touch-temperature|": HEAT,
    "derating|": HEAT,
    "bundle|": NO_WIRING,
    "duct-fill|": NO_WIRING,
    "cable-support|": NO_WIRING,
    "dxf|": "no such drawing is written yet",
    "pdf|viewer key": "a word, not a figure; the drawing's own tests read the file",
    "svg|": "the drawing's own tests read the file",
    "preferred-numbers|": "no size here is chosen from preferred numbers",
    "radio|skin depth|steel taken non-magnetic": "steel is magnetic; its depth is not computed",
    "paper|width x height|US Legal": "papers are A4, Letter and A3",
    "paper|width x height|US Tabloid": "papers are A4, Letter and A3",
    "printer|edge not printable": "the margin of 10 mm is beyond all of them",
    "printer|template margin default": "a choice, nothing to work out",
    "printer|check figure": "a choice, nothing to work out",
    "template|chain error": "a figure of drilling by hand; holes are given from one corner",
    "access|push-button access": ROOM_TEXT,
    "access|two-finger twist": ROOM_TEXT,
    "access|rolled bare hand": ROOM_TEXT,
    "access|clenched bare hand": ROOM_TEXT,
    "access|hand holding": ROOM_TEXT,
    "access|arm to": ROOM_TEXT,
    "access|both hands": ROOM_TEXT,
    "access|index finger": ROOM_TEXT,
    "access|hand thickness": ROOM_TEXT,
    "access|jointed test finger": ROOM_TEXT,
    "access|screwdriver": ROOM_TEXT,
    "access|free": ROOM_TEXT,
    "hole-edge|": ON_THE_BOARD,
    "hole-hole|bridge": ON_THE_BOARD,
    "geometry-cylinder|": ON_THE_BOARD,
    "geometry-box|": "the inner, clear sizes are what the document holds",
    "opening-turn|": "a board is turned wholly inside the body, not round the door's edge",
    "opening-": ON_THE_BOARD,
}


def _reason(key: Key) -> str | None:
    text = "|".join(key)
    fitting = [start for start in LEFT_OUT if text.startswith(start)]
    return LEFT_OUT[max(fitting, key=len)] if fitting else None


@pytest.mark.parametrize("key", [pytest.param(key, id=row_id(key)) for key in CHECKS])
def test_published_row(key: Key) -> None:
    assert_row(key, CHECKS[key]())


def test_every_row_is_asserted_or_left_out_with_a_reason() -> None:
    assert len(ROWS) == 246
    assert [key for key in ROWS if key not in CHECKS and not _reason(key)] == []
    assert [start for start in LEFT_OUT if not _rows_starting(start)] == []


def _rows_starting(start: str) -> list[Key]:
    return [key for key in ROWS if key not in CHECKS and "|".join(key).startswith(start)]


def test_the_file_holds_enough_rows_that_concern_a_board() -> None:
    on_the_board = [key for key in ROWS if key not in CHECKS and _reason(key) == ON_THE_BOARD]
    assert len(on_the_board) == 13
    assert len(CHECKS) + len(on_the_board) >= 90


@pytest.mark.parametrize(
    ("name", "diameter", "height"),
    [
        pytest.param(name, diameter, height, id=f"{name} [ISO 7045, ISO 4032 s/cos 30]")
        for name, diameter, height in (
            ("M2", 4.62, 1.6),
            ("M2.5", 5.77, 2.1),
            ("M3", 6.35, 2.4),
            ("M4", 8.08, 3.2),
            ("M5", 9.5, 4.7),
            ("M6", 12.0, 5.2),
        )
    ],
)
def test_room_of_a_fixing_on_the_other_face(name: str, diameter: float, height: float) -> None:
    assert fasteners.counter_diameter(name) == diameter
    assert fasteners.counter_height(name) == height


@pytest.mark.parametrize(
    ("flats", "corner"),
    [
        pytest.param(5.0, 5.774, id="M2.5 note of the row [BS EN ISO 4032:2001 Table 1]"),
        pytest.param(7.0, 8.083, id="M4 note of the row [BS EN ISO 4032:2001 Table 1]"),
        pytest.param(8.0, 9.238, id="M5 note of the row [BS EN ISO 4032:2001 Table 1]"),
    ],
)
def test_sharp_corner_of_a_nut(flats: float, corner: float) -> None:
    assert fasteners.corner_diameter(flats) == pytest.approx(corner, abs=5e-4)


@pytest.mark.parametrize("name", ["M1.6", "m3", "M10", ""])
def test_unknown_thread_names_the_known_ones(name: str) -> None:
    with pytest.raises(KeyError, match=r"M2, M2\.5, M3"):
        fasteners.medium_hole(name)


@pytest.mark.parametrize("aspect", [0.9, 2.1])
def test_plate_coefficients_stop_at_their_table(aspect: float) -> None:
    with pytest.raises(ValueError, match="outside 1 to 2"):
        bending.framed_plate_sag(1, 1, aspect, 1, 1)


def test_spread_sag_at_the_largest_span_is_the_limit() -> None:
    pressure = bending.spread_pressure(3, 400, 300)
    span = bending.largest_span(10, 500, pressure)
    load = pressure * span * 300
    assert bending.strip_spread_sag(load, span, 300, 10, 500) == pytest.approx(
        bending.sag_limit(span), rel=1e-9
    )


@pytest.mark.parametrize(
    ("length", "sheets"),
    [
        pytest.param(190, 1, id="just one"),
        pytest.param(190.1, 2, id="a hair more"),
        pytest.param(370, 2, id="two with 10 shared"),
        pytest.param(5, 1, id="small"),
    ],
)
def test_tiles_share_their_overlap(length: float, sheets: int) -> None:
    assert paper.tiles_along(length, 190, 10) == sheets
