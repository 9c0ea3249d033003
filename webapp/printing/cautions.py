"""What a sheet says about drilling safely and about the plate's material. Common practice, no
source, unless a line says otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator

from layout_engine.model.job import Job
from layout_engine.sheets.drills import HAND_SCATTER, PILOT_DRILL, PILOT_OVER
from layout_engine.sheets.holes import BoardHoles

FACE_WORDS = {"front": "Front, seen from the front", "back": "Back, seen from behind"}
SAFETY = (
    "Clamp the plate on scrap board and wear eye protection; no gloves, loose sleeves or hair near "
    "the drill. Swarf is sharp: brush it away."
)
MATERIAL_WORDS = {
    "acrylic": "Acrylic chips and cracks where the drill comes out: leave the film on, prick the "
               "centres by hand without a hammer, light pressure, lift the drill often.",
    "polycarbonate": "Polycarbonate grabs and melts: light pressure, lift the drill often, keep "
                     "threadlocker and solvents away, they crack it.",
    "hdpe": "HDPE grabs the drill and gives long swarf: sharp drill, firm clamp, stop to clear.",
    "pvc_foam": "PVC foam tears under a punch: prick lightly, high speed, light pressure.",
    "pvc": "PVC softens when it gets warm: light pressure, lift the drill often, air the room.",
    "plywood": "Plywood splinters where the drill comes out: clamp scrap tight behind, tape over "
               "the far side, brad point drill.",
    "mdf": "MDF bulges and its dust is harmful: clamp scrap behind, wear a mask, draw it off.",
    "fr4": "Glass fibre dust hurts lungs and skin: wear a mask, draw it off, wash.",
    "aluminium": "Aluminium: deburr both sides; the plate conducts, keep bare terminals off it.",
    "steel": "Steel: cutting oil, slow speed, deburr both sides; the plate conducts, keep bare "
             "terminals off it.",
    "aluminium_composite": "Composite: thin skins burr, deburr both sides; they conduct, keep bare "
                           "terminals off them.",
}

def drill_notes(job: Job, board: BoardHoles, face: str) -> Iterator[str]:
    """The notes of a template, most needed first."""
    yield f"{SAFETY} {MATERIAL_WORDS[job.plate.material]}"
    large = PILOT_OVER.value
    pilot = f" Start holes over {large:g} mm with a {PILOT_DRILL.value:g} mm pilot." \
        if any(h.diameter > large for h in board.new) else ""
    yield (f"Drill from the face that this sheet shows ({face}); mark every centre, go slowly "
           f"where the drill comes out; cut at the middle of the line.{pilot}")
    scatter = HAND_SCATTER.value
    if any(hole.slack is not None for hole in board.new):
        yield ("Slack: hole less screw, what a pair may be out. By hand one hole is easily "
               f"{scatter:g} mm out, a pair {2 * scatter:g} mm: where that is more than the slack, "
               "drill from the module itself or file the hole.")
    yield from board_notes(board)


def board_notes(board: BoardHoles) -> Iterator[str]:
    """What is special about the holes of this board."""
    sunk = [hole.id for hole in board.holes if hole.countersunk]
    if sunk:
        yield f"Countersink {_holes(sunk)} on the side of the screw's head."
    reused = [hole.id for hole in board.holes if hole.reused]
    if reused:
        are, them = ("is", "it") if len(reused) == 1 else ("are", "them")
        yield (f"H{_holes(reused)[1:]} (grey, r) {are} in the plate already: do not drill "
               f"{them} again.")
    if board.unused:
        count = len(board.unused)
        yield (f"{count} hole{'s' * (count > 1)} drawn grey, in the plate already, "
               f"{'are' if count > 1 else 'is'} not used.")
    if board.feet:
        yield ("Squares with a T are feet for cable ties, stuck on the face that shows them: not "
               "drilled.")
    yield from board.warnings
    for cut in board.cut_outs:
        yield f"Cut-out {cut.id}, {cut.for_}: {cut.words}."


def _holes(ids: list[str]) -> str:
    return f"hole{'s' * (len(ids) > 1)} {', '.join(ids)}"
