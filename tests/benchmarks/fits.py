"""How fast a page is told where a module fits: `python -m tests.benchmarks.fits`.

Forty modules. Processor time, medians: the exact places with nothing kept (cold) and with the
forbidden ground of pairs kept, the raster of free cells and costs over all four turns, and the
places as a path of a drawing. Beside each, so that machines can be compared, its ratio to one
plain distance query over the same forty outlines, measured in the same run.
"""

from __future__ import annotations

import statistics

import shapely

from layout_engine.checks.scene import Scene
from layout_engine.model.job import Job
from layout_engine.spots import Around, Forms, cost_map, fit_of
from layout_engine.spots.choosing import turns_of
from tests.benchmarks.arranging import family_job
from tests.benchmarks.checking import forty_parts, milliseconds

ROUNDS, EVERY = 10, 4  # measured rounds, and every which module is asked about


def path(around: Around, turn: float) -> str:
    """The places as a path of a drawing."""
    return " ".join(
        "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in ring) + "Z"
        for piece in fit_of(around, "front", turn).middles.rings for ring in piece
    )


def measured(job: Job) -> tuple[dict[str, list[float]], float]:
    """Processor time of each answer, ms, ascending, and that of one plain distance query."""
    ids = [part.id for part in job.placed][::EVERY]
    outlines = [standing.outline for standing in Scene(job).standing.values()]
    unit = statistics.median(milliseconds(lambda _: shapely.distance(outlines[0], outlines), 200))
    kept = Forms()
    for part_id in ids:
        fit_of(Around(job, part_id, kept), "front", 0)

    def part(index: int) -> str:
        return ids[index % len(ids)]

    return {
        "exact places, cold": milliseconds(
            lambda i: fit_of(Around(job, part(i)), "front", 0), ROUNDS),
        "exact places, pairs kept": milliseconds(
            lambda i: fit_of(Around(job, part(i), kept), "front", 0), 3 * ROUNDS),
        "places as a path": milliseconds(
            lambda i: path(Around(job, part(i), kept), 0), 3 * ROUNDS),
        "costs of all turns, 2 mm": milliseconds(lambda i: [
            cost_map(around, "front", turn) for around in [Around(job, part(i), kept)]
            for turn in turns_of(around.part)], 3 * ROUNDS),
    }, unit


def measure(name: str, job: Job) -> None:
    """Measure one job and print a line for each figure."""
    spent_on, unit = measured(job)
    print(f"{name}: {len(job.placed)} modules, plate {job.plate.size[0]:g} x "
          f"{job.plate.size[1]:g} mm")
    for what, spent in spent_on.items():
        half, worst = statistics.median(spent), spent[-1]
        print(f"  {what:26} p50 {half:7.1f} ms   most {worst:7.1f} ms   ratio {half / unit:8.0f}")


def main() -> None:
    """Measure and print."""
    measure("The shelf in rows", forty_parts())
    measure("Boxes, closely packed", family_job(40, 1))


if __name__ == "__main__":
    main()
