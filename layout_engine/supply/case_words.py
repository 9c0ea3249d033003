"""Cases of the supply in words: the person's own by their names, stalls by the motor's."""

from __future__ import annotations

from layout_engine.model.job import Job
from layout_engine.supply.cases import STALL

PACKS = {"nominal pack": "usual pack"}  # the others are called as they are
USUAL = {"idle": "everything idle", "typical": "everything as typical",
         "peak": "everything at peak", "stall_all": "all motors held fast"}


def case_words(job: Job, case: str) -> str:
    """A case as people call it."""
    if case in USUAL:
        return USUAL[case]
    part_id = case.removeprefix(STALL)
    if part_id != case and part_id in job.parts_by_id:
        return f"{job.part(part_id).title} held fast"
    named = next((one for one in job.cases if one.id == case), None)
    return (named.label or named.id) if named else case


def case_and_pack(job: Job, text: str) -> str:
    """A case with its state of charge ("peak, nominal pack") as people call it."""
    case, comma, pack = text.rpartition(", ")
    return f"{case_words(job, case)}{comma}{PACKS.get(pack, pack)}" if comma else text
