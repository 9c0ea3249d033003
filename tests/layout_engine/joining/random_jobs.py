"""Complete jobs drawn from the shelf by chance: enough of everything that joining needs."""

from __future__ import annotations

import json
import random
from functools import cache
from pathlib import Path
from typing import Any

SHELF = Path(__file__).parents[3] / "seed_data" / "shelf"
LOADS_12V = ("lamp_round_12v", "lamp_strip_12v", "fan_40", "amplifier_mono_30w", "relay_12v_30a")
LOADS_5V = ("servo_standard", "servo_large", "receiver_2g4", "audio_player", "relay_board_5v")
ANY_VOLTS = ("meter_board", "meter_panel", "suppressor_board")
DRIVERS = ("motor_driver_dual_25a", "motor_driver_single_10a")


@cache
def shelf_type(name: str) -> dict[str, Any]:
    """One type of the shelf."""
    kind: dict[str, Any] = json.loads((SHELF / f"{name}.json").read_text(encoding="utf-8"))
    return kind


def job_of(names: list[str]) -> dict[str, Any]:
    """A document with one module of each name, in this order, nothing joined or placed."""
    parts = [{"id": f"p{number}_{name}"[:40], "type": name} for number, name in enumerate(names)]
    return {
        "format": "platewright/1", "name": "By chance",
        "body": {"diameter": 300, "height": 500, "opening": {"diameter": 280},
                 "reach_from": "top"},
        "plate": {"outline": [[0, 0], [200, 0], [200, 150], [0, 150]], "thickness": 4,
                  "material": "acrylic", "stands": "flat", "base": 60},
        "types": {name: shelf_type(name) for name in names}, "parts": parts, "connections": [],
    }


def complete_job(seed: int) -> dict[str, Any]:
    """A job by chance that has a battery, fuses, ways, returns and converters for all its loads."""
    chance = random.Random(seed)
    is_24 = chance.random() < 0.4
    loads = chance.choices(LOADS_12V, k=chance.randint(0, 4))
    small = chance.choices(LOADS_5V, k=chance.randint(1, 6))
    others = chance.choices(ANY_VOLTS, k=chance.randint(0, 2))
    drivers = chance.choices(DRIVERS, k=chance.randint(0, 3))
    motors = ["drive_motor_24v" if is_24 else "drive_motor_12v"] * sum(
        2 if "dual" in driver else 1 for driver in drivers)
    converters = ["converter_5v"] * (1 + len(small) // 3)
    converters += ["converter_12v_from_24v"] * (len(loads) if is_24 else 0)
    fed = len(loads) + len(others) + len(drivers) + len(converters)
    names = [
        "battery_24v_20ah" if is_24 else chance.choice(("battery_12v_12ah", "battery_12v_20ah")),
        "fuse_holder_bolted", chance.choice(("main_switch_panel", "main_switch_surface")),
        *["fuse_block_6"] * (fed // 6 + 1), *["return_bar_12"] * (fed // 12 + 1),
        *converters, *loads, *small, *others, *drivers, *motors,
        *(["controller_board"] if chance.random() < 0.8 else []),
        *(["charge_socket_round", "fuse_holder_inline"] if chance.random() < 0.7 else []),
        *(["stop_button_panel"] if chance.random() < 0.7 else []),
        *(["hub_servo_3"] if chance.random() < 0.3 else []),
        *(["audio_transformer", "speaker_horn_8"] if chance.random() < 0.5 else []),
    ]
    chance.shuffle(names)
    return job_of(names)
