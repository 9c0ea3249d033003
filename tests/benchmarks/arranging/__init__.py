"""Quality and time of arranging: the whole table (`python -m tests.benchmarks.arranging`).

`family` makes the seeded jobs, each round a known allowed arrangement; `rows` says what is
measured, `measuring` how, `reference` keeps the best known costs, `cp_sat` is the comparison.
"""

from pathlib import Path

from tests.benchmarks.arranging.boxes import family_job

__all__ = ["DEMOS", "family_job"]

DEMOS = Path(__file__).parents[3] / "seed_data" / "demos"
