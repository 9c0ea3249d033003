"""How coolings go: temperatures, weights of overlaps, and shares of the kinds of moves."""

from __future__ import annotations

import numpy as np

# A puzzle of so many bodies is large: a single long cooling does better, and no moves of groups:
# open floorplan n100, 10 s, median of 4: 196 900 with them, 195 200 without.
LARGE = 60
FEW_BODIES = 16  # up to so many are few
MUCH_STAYS = 6  # bodies that stay: screws, cut-outs, locked modules
# Few bodies on two faces, up to which both chains are tempered. Of more the second is a population:
# where one fails the other mostly does not. 300 million units for each chain, the better of any two
# of eight seeds, over the best seen, mean and worst: two demonstration jobs of 15 and 16 modules,
# both tempered 0.12 (2.5) and 0.28 % (1.1), unlike 0.03 (0.1) and 0.13 (0.3); three of the family,
# of 13 and 15, 0.94, 0.15 and 0.39, unlike 0.41, 0.21 and 0.62. The demonstration jobs, 150 million
# for one that is tempered, 3.9 (16) and 0.46 (1.3), twice 88 million unlike 0.28 (2.9) and 0.16
# (0.3). Of 11 modules three jobs, both tempered 0.11, 0.06 and 0.00, unlike 0.40, 0.18 and 0.01.
BOTH_TEMPERED = 12
# Shares of moves: jump, swap, turn, pull, beside, plug, pair, wheel, together; the rest: shifts.
SHARES = (0.024, 0.12, 0.08, 0.096, 0.08, 0.064, 0.064, 0.032, 0.2)
# Of few bodies on two faces: more of what takes one to the other face, above all turns on the spot.
SHARES_ON_TWO = (0.06, 0.08, 0.2, 0.096, 0.04, 0.1, 0.05, 0.02, 0.1)
LARGE_SHARES = (0.03, 0.15, 0.1, 0.12, 0.1, 0.08, 0.08, 0.04, 0.0)  # of large puzzles
# A cooling in stages: share of its moves; temperature at start and end (of the mean weight of a
# body x 0.2 sqrt(plate area)); weight of overlaps at start and end; how far a body is shifted at
# start and end (of the plate's size). Where what stands beside what is decided, between 0.15 and
# 0.02, most time is spent. Measured on plates of 12 to 40 modules and on open floorplans.
Stage = tuple[float, float, float, float, float, float, float]
LAST: Stage = (0.25, 0.02, 1.0e-3, 4.0, 35.0, 0.1, 0.01)
RECIPES: tuple[tuple[Stage, ...], ...] = (
    ((0.75, 0.15, 0.02, 0.3, 4.0, 0.6, 0.1), LAST),
    ((0.75, 0.12, 0.02, 0.3, 4.0, 0.6, 0.1), LAST),
    ((0.75, 0.15, 0.02, 0.15, 4.0, 0.6, 0.1), LAST),
)
# Many bodies jam where overlaps stay cheap until it is cold, so here they get heavy while it is
# warm. n100, 2.5 million moves, three seeds: 196 000 to 201 500 before, 191 600 to 194 800 so.
LARGE_RECIPE: tuple[Stage, ...] = (
    (0.75, 0.12, 0.02, 0.6, 16.0, 0.6, 0.06), (0.25, 0.02, 1.0e-3, 16.0, 35.0, 0.06, 0.01),
)
# A population's way down: temperature, weight of overlaps and shifts as in a stage.
HOT, HOT_ON_TWO = (0.2, 0.25, 0.5), (0.3, 0.3, 0.6)
COLD, NARROW = 0.02, 0.06  # temperature and shifts at its end
# Overlaps stay light to the end, and on a roomy plate lightest: what is cooled to the end is freed
# of them there, and until then bodies pass through one another. On a full plate too much is left
# to be freed so. Cost over the best seen, by the weight at the end: four jobs of 40 modules on one
# face, 0.46 to 0.71 full, 16 seeds, 0.5 7.7 %, 0.7 4.4, 1 3.8, 1.4 4.2, 2 4.9, 4 5.5; six of 25 and
# 40 on two faces, about 0.65 full, eight seeds, the better of two chains, 1 3.0 %, 1.4 2.2, 2 2.2,
# 4 3.3, 1.4 and 2 2.1; three on one face, 0.65 full, six seeds, 1 3.0 %, 2 2.4, 4 4.5; one 0.8
# full, 1 11.7 %, 2 9.8, 4 1.6; open floorplan n30, 0.87 full, three seeds, 1 103 700, 2 and 4
# 102 700, 4 and 8 100 800. The curve is drawn through the best of these.
LIGHTEST, ROOMY, STEEP = 1.0, 0.6, 5.0
UNLIKE = (1.2, 0.8)  # of that weight, in the first and in the second chain
REHEATS = (0.03, 0.12)  # temperatures between which what there is is warmed up again
LARGE_REHEATS = (0.02, 0.05)


def shares_of(bodies: int, faces: int) -> tuple[float, ...]:
    """Shares of the kinds of moves, for so many bodies that may move and faces."""
    if bodies >= LARGE:
        return LARGE_SHARES
    return SHARES_ON_TWO if bodies <= FEW_BODIES and faces > 1 else SHARES


def is_tempered(movable: int, faces: int, stays: int) -> bool:
    """Whether few bodies are searched by tempering, else by reworking.

    On one face with 15 things that stay, 58 million units of work, 24 seeds, tempering came to
    3.7 and 1.7 % over the best seen, reworking to 7.6 and 1.9; with none or one, 0.5 and 1.5, and
    reworking to 0.4 and 0.8.
    """
    return movable <= FEW_BODIES and (faces > 1 or stays >= MUCH_STAYS)


def is_unlike(movable: int, faces: int) -> bool:
    """Whether the second chain is searched in another way than the first."""
    return BOTH_TEMPERED < movable <= FEW_BODIES and faces > 1


def hottest(faces: int) -> tuple[float, float, float]:
    """Where a population's way down begins: temperature, weight of overlaps, shifts."""
    return HOT if faces == 1 else HOT_ON_TWO


def coldest(fullness: float, chain: int) -> tuple[float, float, float]:
    """Where it ends on so full a plate, in the first or the second chain."""
    weight = UNLIKE[chain % len(UNLIKE)] * (fullness / ROOMY) ** STEEP
    return COLD, max(weight, LIGHTEST), NARROW


def reheated(recipe: tuple[Stage, ...], warm: float) -> tuple[Stage, ...]:
    """The stages of a cooling that sets in at a temperature on the way of a recipe."""
    first = recipe[0]
    share = np.log(first[1] / warm) / np.log(first[1] / first[2])
    light, wide = (first[a] * (first[b] / first[a]) ** share for a, b in ((3, 4), (5, 6)))
    return (first[0], warm, first[2], float(light), first[4], float(wide), first[6]), *recipe[1:]
