"""Named sample jobs, as plain documents. All sizes are invented; tests/test_samples.py holds what
each one promises.

Every function builds a new document, so that a test may change what it got.
"""

from __future__ import annotations

from typing import Any

Document = dict[str, Any]
PLATE_WIDTH, PLATE_HEIGHT = 260, 300
MODULE_WIDTH, MODULE_DEPTH = 70, 45

# name, kind, width, depth, height of ten modules that together fill about two fifths of the plate
TEN = (
    ("main_switch", "Main switch", "main_switch", 45, 45, 30),
    ("fuse_block", "Fuse block, 4 way", "fuse_block", 85, 50, 34),
    ("driver", "Dual motor driver, 25 A", "motor_driver", 80, 62, 32),
    ("controller", "Controller", "controller", 70, 55, 15),
    ("converter", "5 V converter", "converter", 58, 40, 18),
    ("receiver", "Receiver", "receiver", 42, 30, 14),
    ("player", "Sound player", "audio_player", 55, 40, 14),
    ("amplifier", "Horn amplifier", "amplifier", 62, 44, 24),
    ("relay", "Lamp relay", "relay", 40, 30, 26),
    ("terminals", "Motor terminals", "terminal_block", 75, 22, 18),
)
# lower left corners that keep all ten apart, inside the margin and off the mounts
TEN_PLACES = {
    "main_switch": (200, 225), "fuse_block": (100, 225), "driver": (20, 30),
    "controller": (20, 225), "converter": (112, 30), "receiver": (185, 160),
    "player": (20, 160), "amplifier": (100, 160), "relay": (182, 35), "terminals": (20, 115),
}  # fmt: skip


def rectangle(width: float, height: float) -> list[list[float]]:
    """A rectangle from (0, 0)."""
    return [[0, 0], [width, 0], [width, height], [0, height]]


def module_type(
    name: str, kind: str = "other", width: float = MODULE_WIDTH, depth: float = MODULE_DEPTH,
    height: float = 20, **more: Any,
) -> Document:  # fmt: skip
    """A measured module: a box on spacers, screwed in two opposite corners, nothing else to it."""
    return {
        "name": name, "kind": kind, "outline": rectangle(width, depth), "height": height,
        "standoff": 6, "mass": 60,
        "basis": {"footprint": "measured", "electrical": "guess", "heat": "guess"},
        "fixings": [
            {"x": 5, "y": 5, "thread": "M3", "head": "pan", "grip": 1.6, "spacer": "spacer"},
            {"x": width - 5, "y": depth - 5, "thread": "M3", "head": "pan", "grip": 1.6,
             "spacer": "spacer"},
        ],
        **more,
    }  # fmt: skip


def part(part_id: str, type_id: str, place: tuple[float, float] | None = None, *,
         turn: float = 0, face: str = "front", **more: Any) -> Document:  # fmt: skip
    """A module of a job, on the plate at `place` or on the tray."""
    placement = (
        None if place is None else {"face": face, "x": place[0], "y": place[1], "turn": turn}
    )
    return {"id": part_id, "type": type_id, "placement": placement, **more}


def empty_plate() -> Document:
    """A round body with a front opening and an upright plate; no module yet."""
    return {
        "format": "platewright/1",
        "name": "Empty plate",
        "body": {
            "shape": "round", "diameter": 420, "height": 700,
            "opening": {"in": "front", "shape": "rectangle", "width": 300, "height": 420,
                        "at": [0, 330]},
            "reach_from": "front",
        },
        "plate": {
            "outline": rectangle(PLATE_WIDTH, PLATE_HEIGHT), "corner_radius": 6, "thickness": 4,
            "material": "polycarbonate", "stands": "upright", "offset": 20, "base": 180,
            "mounts": [
                {"id": f"corner_{number}", "x": x, "y": y, "diameter": 4.5, "head_diameter": 9}
                for number, (x, y) in enumerate(((10, 10), (250, 10), (250, 290), (10, 290)), 1)
            ],
        },
        "types": {},
        "parts": [],
    }  # fmt: skip


def two_module_board() -> Document:
    """Two equal modules, well apart, on the front: nothing to stop the builder."""
    return {
        **empty_plate(),
        "name": "Two modules",
        "types": {"box": module_type("Box")},
        "parts": [part("left", "box", (30, 120), label="Left box"),
                  part("right", "box", (140, 120), label="Right box")],
    }  # fmt: skip


def wired_board() -> Document:
    """Two modules, joined by one heavy wire from right side to left side."""
    document = two_module_board()
    document["types"]["box"]["terminals"] = [
        {"id": "a", "x": 0, "y": 22.5, "leaves": 180, "role": "positive"},
        {"id": "b", "x": 70, "y": 22.5, "leaves": 0, "role": "positive"},
    ]
    document["connections"] = [{"id": "c", "from": "left.b", "to": "right.a", "weight": 20}]
    return document


def touching_board() -> Document:
    """The two modules overlap by 5 mm over their whole depth of 45 mm."""
    document = two_module_board()
    document["name"] = "Touching modules"
    document["parts"][1]["placement"]["x"] = 30 + MODULE_WIDTH - 5
    return document


def both_faces_board() -> Document:
    """One module on each face; seen from the front they stand side by side.

    The back one's outline runs from x 140 to 210: on the back a part's x counts to the left.
    """
    document = two_module_board()
    document["name"] = "Both faces"
    place = (140 + MODULE_WIDTH, 120)
    document["parts"][1] = part("right", "box", place, face="back", label="Behind")
    return document


def ten_module_tray() -> Document:
    """Ten different modules, all on the tray."""
    document = empty_plate()
    document["name"] = "Ten on the tray"
    for type_id, name, kind, width, depth, height in TEN:
        document["types"][type_id] = module_type(name, kind, width, depth, height)
        document["parts"].append(part(type_id, type_id, label=name))
    return document


def ten_module_board() -> Document:
    """The ten modules placed by hand, none too near to another."""
    document = ten_module_tray()
    document["name"] = "Ten modules"
    for item in document["parts"]:
        x, y = TEN_PLACES[item["id"]]
        item["placement"] = {"face": "front", "x": x, "y": y, "turn": 0}
    return document


def overfull_plate() -> Document:
    """Thirty boxes on the tray: their outlines cover more than both faces of the plate."""
    document = empty_plate()
    document["name"] = "Overfull plate"
    document["types"] = {"box": module_type("Large box", width=90, depth=70)}
    document["parts"] = [part(f"box_{number}", "box") for number in range(1, 31)]
    return document


ALL = (
    empty_plate, two_module_board, touching_board, both_faces_board, ten_module_tray,
    ten_module_board, overfull_plate,
)  # fmt: skip
