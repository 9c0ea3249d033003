"""Print the table, or compute its references."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from pathlib import Path

from layout_engine.arranging import warm_up
from tests.benchmarks.arranging.lines import Asked, Line, as_json
from tests.benchmarks.arranging.reference import SECONDS, SEEDS
from tests.benchmarks.arranging.rows import FAMILY, ROWS


def asked_for() -> argparse.Namespace:
    """The command line."""
    ask = argparse.ArgumentParser(prog="python -m tests.benchmarks.arranging",
                                  description="Quality and time of arranging, in processor time.")
    ask.add_argument("--rows", default=",".join(ROWS), help=f"some of {', '.join(ROWS)}")
    ask.add_argument("--seeds", type=int, default=SEEDS, help="seeds a job is arranged with")
    ask.add_argument("--members", type=int, help="at most so many jobs a row")
    ask.add_argument("--data", type=Path, help="folder of the open data")
    ask.add_argument("--json", action="store_true", help="one object a line, for programs")
    ask.add_argument("--reference", action="store_true",
                     help="compute the references of the rows of the family, and keep them")
    ask.add_argument("--reference-seconds", type=float, default=SECONDS)
    told = ask.parse_args()
    told.rows = told.rows.split(",")
    if unknown := sorted(set(told.rows) - set(ROWS)):
        ask.error(f"there is no row {', '.join(unknown)}; there are {', '.join(ROWS)}")
    return told


def table(rows: list[str], asked: Asked) -> Iterator[tuple[str, Line]]:
    """Every line with its row."""
    for row in rows:
        for line in ROWS[row](asked):
            yield row, line


def main() -> None:
    """Measure and print."""
    told = asked_for()
    asked = Asked(told.seeds, told.members, told.data)
    warm_up()
    if told.reference:
        for row in (row for row in told.rows if row in FAMILY):
            for words in FAMILY[row].refer(asked, told.reference_seconds):
                print(words, flush=True)
        return
    last, over = "", 0
    for row, line in table(told.rows, asked):
        over += bool(line.missed)
        if told.json:
            print(json.dumps(as_json(row, line)), flush=True)
        else:
            print(f"{row}\n{line.text}" if row != last else line.text, flush=True)
        last = row
    if not told.json:
        print(f"{over} lines over their figures")


if __name__ == "__main__":
    main()
