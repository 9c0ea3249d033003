"""Boards for the tests of print: small, with both faces, with many holes, with awkward names."""

from __future__ import annotations

from typing import Any

from layout_engine import Job, load_document

Points = list[tuple[float, float]]


def document(width: float, height: float, **plate: object) -> dict[str, Any]:
    """A job with a bare plate in a roomy body."""
    outline = [[0, 0], [width, 0], [width, height], [0, height]]
    return {
        "format": "platewright/1", "name": "Rolling lighthouse", "client": "Ines Farrow",
        "body": {"shape": "box", "width": 2000, "depth": 1200, "height": 2000,
                 "opening": {"in": "top", "shape": "rectangle", "width": 1900, "height": 1100},
                 "reach_from": "top"},
        "plate": {"outline": outline, "thickness": 3, "material": "acrylic", "stands": "upright",
                  **plate},
        "types": {}, "parts": [],
    }


def add(doc: dict[str, Any], part: str, label: str, at: tuple[float, float],
        size: tuple[float, float], holes: Points, face: str = "front", turn: float = 0,
        thread: str = "M3", basis: str = "measured", **kind: object) -> None:
    """A rectangular module with fixings, placed."""
    width, height = size
    doc["types"][f"t_{part}"] = {
        "name": f"type of {part}", "kind": "other", "height": 20, "standoff": 8,
        "outline": [[0, 0], [width, 0], [width, height], [0, height]],
        "basis": {"footprint": basis},
        "fixings": [{"x": x, "y": y, "thread": thread} for x, y in holes], **kind}
    doc["parts"].append({
        "id": part, "type": f"t_{part}", "label": label,
        "placement": {"face": face, "x": at[0], "y": at[1], "turn": turn}})


def lighthouse_document() -> dict[str, Any]:
    """A board of 170 x 200 mm with both faces used, 35 holes, a cut-out, four mounts."""
    corners = [(8, 8), (162, 8), (8, 192), (162, 192)]
    doc = document(170, 200, corner_radius=4, mounts=[
        {"id": f"corner_{n}", "x": x, "y": y, "diameter": 4.5, "head_diameter": 9}
        for n, (x, y) in enumerate(corners, 1)])
    add(doc, "receiver", "Radio receiver", (20, 160), (46, 32), [(3.5, 3.5), (42.5, 28.5)],
        thread="M2")
    add(doc, "main", "Main switch", (74, 160), (34, 34), [(4, 4), (30, 4), (4, 30), (30, 30)],
        through=[{"x": 17, "y": 17, "diameter": 20}])
    add(doc, "meter", "Meter", (113, 164), (42, 26), [(3.5, 13), (38.5, 13)])
    add(doc, "controller", "Sound and light controller", (8, 84), (54, 68),
        [(3.5, 3.5), (50.5, 3.5), (3.5, 64.5), (50.5, 64.5)])
    add(doc, "fuses", "Fuse block, 6 way", (72, 108), (90, 44), [(5, 22), (85, 22)], thread="M4")
    add(doc, "relay", "Lamp relay", (72, 72), (40, 28), [(4, 4), (36, 4)])
    add(doc, "converter", "5 V converter", (114, 72), (46, 28), [(3.5, 3.5), (42.5, 24.5)])
    add(doc, "bar", "0 V bar", (8, 24), (17, 48), [(8.5, 4), (8.5, 44)])
    add(doc, "drive", "Drive controller", (32, 8), (88, 58), [(4, 4), (84, 4), (4, 54), (84, 54)])
    add(doc, "horn", "Horn amplifier", (106, 13), (58, 44), [(6, 6), (52, 6), (6, 38), (52, 38)],
        face="back")
    add(doc, "motors", "Motor terminals", (136, 16), (22, 46), [(11, 4), (11, 42)])
    return doc


def large_document(width: float = 400, height: float = 300) -> dict[str, Any]:
    """A board of many equal modules, every third on the back, no two holes alike."""
    doc = document(width, height, material="plywood", corner_radius=6)
    columns, rows = int((width - 16) // 64), int((height - 16) // 70)
    for number in range(columns * rows):
        x, y = 8 + number % columns * 64, 8 + number // columns * 71
        back = number % 3 == 0
        add(doc, f"p{number}", f"Module {number + 1}", (x + 56 * back, y), (56, 60),
            [(4, 4), (52, 4.5), (4.25, 56), (51, 55)], face="back" if back else "front")
    return doc


def slanted_document() -> dict[str, Any]:
    """Parts at odd turns on both faces, a polygon cut-out, tie slots, holes that exist already."""
    doc = document(300, 200, existing_holes=[
        {"x": 40, "y": 150, "diameter": 4.2}, {"x": 250, "y": 30, "diameter": 6}],
        holes=[[[140, 90], [160, 90], [160, 110], [140, 110]]])
    add(doc, "tilted", "Tilted", (60, 40), (50, 30), [(5, 5), (45, 25)], turn=33)
    add(doc, "behind", "Behind", (250, 120), (50, 30), [(5, 5), (45, 25)], face="back", turn=-75)
    add(doc, "window", "Window meter", (20, 100), (50, 30), [(5, 5)],
        through=[[[10, 10], [40, 10], [40, 24], [10, 24]]])
    add(doc, "pack", "Battery pack", (180, 20), (60, 40), [], fixing="tie",
        slots=[{"x": 10, "y": 20, "width": 4, "length": 14, "turn": 90},
               {"x": 50, "y": 20, "width": 4, "length": 14, "turn": 90}])
    add(doc, "taped", "Taped sensor", (20, 20), (20, 20), [(10, 10)], fixing="tape")
    add(doc, "again", "Used again", (20, 140), (40, 20), [(20, 10)])
    return doc


def job(doc: dict[str, Any]) -> Job:
    """The document as a job."""
    return load_document(doc)
