"""Places along one line under distances that are wanted, at least cost: a min-cost circulation.

Each arc from a to b wants b to stand at least so far beyond a, and asks a price for every mm that
this is missed by. The sum of all prices is the dual of the cost of a circulation on the same arcs,
no flow over an arc's price; where that is cheapest the nodes' potentials are the places (Ahuja,
Magnanti, Orlin, Network Flows (1993), ch. 9 and 11; of floorplans: Tang, Tian, Wong, IEEE Trans.
CAD 25 (2006) 1744; both from memory). It is found by the network simplex method on strongly
feasible trees (Cunningham, Math. Programming 11 (1976) 105; from memory), which starts at the
places that are there: a tree of arcs without a price from node 0 to each other one.
"""

from __future__ import annotations

import numpy as np

from layout_engine.arranging.compiled import compiled, inlined
from layout_engine.arranging.vectors import Floats, Ints

# Entries of g: counts, then where blocks begin (that of c, those of g).
NODES, ARCS, SLOTS, PLACE, ARC, ARC_N, PARENT, LINK, DEPTH, WAITING = range(10)
HEADER = 10
ARC_W = 3  # in c: distance wanted, price, flow
ARC_NW = 3  # in g: tail, head, where its flow is
NONE, INSIDE, FULL = -1, 0, 1  # at nothing; anywhere, for an arc of the tree; at its price
SURE = 1e-7  # mm: a distance is missed, or more than kept, by more than this
SLACK = 1e-12  # of a flow: rounding
PIVOTS_A_NODE = 60  # more are not to be expected: of 12 to 40 modules it is 4 to 6
FEWEST_LOOKED_AT = 10  # arcs between two choices of the worst; or a third of all


def room_for(nodes: int, arcs: int) -> tuple[Floats, Ints]:
    """Vectors c and g with room for so many nodes, node 0 among them, and arcs."""
    slots = nodes + arcs
    head = np.zeros(HEADER, dtype=np.int64)
    head[[NODES, SLOTS, ARC]] = nodes, slots, nodes
    head[ARC_N:] = HEADER + np.cumsum([0, slots * ARC_NW, nodes, nodes, nodes])
    ints = np.concatenate((head, np.zeros(slots * ARC_NW + 4 * nodes, dtype=np.int64)))
    return np.zeros(nodes + slots * ARC_W), ints


@inlined
def begin(g: Ints, nodes: int) -> None:
    """No arcs yet, so many nodes; their places, from `c[g[PLACE]]` on, are to be filled in."""
    g[NODES] = nodes
    g[ARCS] = nodes  # the first are those of the tree at the start


@inlined
def add_arc(c: Floats, g: Ints, tail: int, head: int, least: float, price: float) -> None:
    """Want the place of `head` at least so far beyond that of `tail`; price for a mm less."""
    arc = g[ARCS]
    mark, row = g[ARC_N] + arc * ARC_NW, g[ARC] + arc * ARC_W
    g[mark], g[mark + 1], g[mark + 2] = tail, head, NONE
    c[row], c[row + 1], c[row + 2] = least, price, 0.0
    g[ARCS] = arc + 1


@compiled
def place_cheapest(c: Floats, g: Ints) -> int:
    """Move the places to where all that is missed costs least.

    Args:
        c: places, node 0 at 0, then the arcs, by `add_arc`.
        g: what they join.

    Returns:
        How often the tree was changed; -1 if the places are not there after very many times.
    """
    nodes, arcs = g[NODES], g[ARCS]
    _start(c, g)
    arc = nodes
    for pivots in range(PIVOTS_A_NODE * nodes):
        arc = _worst(c, g, arc)
        if arc < 0:
            return pivots
        _pivot(c, g, arc)
        arc = arc + 1 if arc + 1 < arcs else nodes
    return -1


@inlined
def _start(c: Floats, g: Ints) -> None:
    """Hang every node on node 0, by an arc that no flow can take."""
    for node in range(g[NODES]):
        mark, row = g[ARC_N] + node * ARC_NW, g[ARC] + node * ARC_W
        g[mark], g[mark + 1], g[mark + 2] = 0, node, INSIDE
        c[row], c[row + 1], c[row + 2] = c[g[PLACE] + node], 0.0, 0.0
        g[g[PARENT] + node], g[g[LINK] + node], g[g[DEPTH] + node] = 0, node, 1
    g[g[DEPTH]] = 0


@inlined
def _worst(c: Floats, g: Ints, first: int) -> int:
    """Of the arcs from this one on the one whose flow is the most wrong, -1 if none is.

    It is looked for among some at a time.
    """
    nodes, arcs, places = g[NODES], g[ARCS], g[PLACE]
    most, looked, found, arc = SURE, 0, -1, first
    at_once = max(FEWEST_LOOKED_AT, (arcs - nodes) // 3)
    for _ in range(arcs - nodes):
        mark = g[ARC_N] + arc * ARC_NW
        missed = c[g[ARC] + arc * ARC_W] - c[places + g[mark + 1]] + c[places + g[mark]]
        if -g[mark + 2] * missed > most:
            most, found = -g[mark + 2] * missed, arc
        looked += 1
        if looked == at_once:
            if found >= 0:
                break
            looked = 0
        arc = arc + 1 if arc + 1 < arcs else nodes
    return found


@inlined
def _pivot(c: Floats, g: Ints, arc: int) -> None:
    """Change the flow round the cycle that an arc closes with the tree, as far as it goes."""
    mark, row = g[ARC_N] + arc * ARC_NW, g[ARC] + arc * ARC_W
    side = g[mark + 2]
    source, sink = (g[mark], g[mark + 1]) if side == NONE else (g[mark + 1], g[mark])
    one, other = source, sink
    while one != other:
        if g[g[DEPTH] + one] >= g[g[DEPTH] + other]:
            one = g[g[PARENT] + one]
        else:
            other = g[g[PARENT] + other]
    # The last arc on the way round, from where the branches part, that lets no more through leaves
    # the tree: so flow can be sent from each node to node 0, and no tree comes again.
    more, cut = _least_room(c, g, source, one, True, c[row + 1], -1)
    more, cut_after = _least_room(c, g, sink, one, False, more, -1)
    if more > 0.0:
        c[row + 2] -= side * more
        _send(c, g, source, one, True, more)
        _send(c, g, sink, one, False, more)
    if cut_after >= 0:
        _hang(c, g, arc, sink, source, cut_after)
    elif cut >= 0:
        _hang(c, g, arc, source, sink, cut)
    else:
        g[mark + 2] = -side


@inlined
def _least_room(c: Floats, g: Ints, node: int, top: int, down: bool,
                most: float, cut: int) -> tuple[float, int]:
    """How much can flow between a node and one above it, and the node below what lets no more."""
    while node != top:
        arc = g[g[LINK] + node]
        mark, row = g[ARC_N] + arc * ARC_NW, g[ARC] + arc * ARC_W
        along = (g[mark + 1] == node) == down
        room = c[row + 1] - c[row + 2] if along else c[row + 2]
        if room < most or (room <= most and not down):
            most, cut = room, node
        node = g[g[PARENT] + node]
    return most, cut


@inlined
def _send(c: Floats, g: Ints, node: int, top: int, down: bool, more: float) -> None:
    """Let so much more flow from the node above down to this one, or up from it."""
    while node != top:
        arc = g[g[LINK] + node]
        along = (g[g[ARC_N] + arc * ARC_NW + 1] == node) == down
        c[g[ARC] + arc * ARC_W + 2] += more if along else -more
        node = g[g[PARENT] + node]


@inlined
def _hang(c: Floats, g: Ints, arc: int, inner: int, outer: int, cut: int) -> None:
    """Cut the tree above a node, and hang that branch on an arc from `inner` in it to `outer`."""
    gone = g[g[LINK] + cut]
    mark, row = g[ARC_N] + gone * ARC_NW, g[ARC] + gone * ARC_W
    empty = gone < g[NODES] or c[row + 2] <= SLACK
    g[mark + 2] = NONE if empty else FULL
    c[row + 2] = 0.0 if empty else c[row + 1]
    g[g[ARC_N] + arc * ARC_NW + 2] = INSIDE
    node, above, link = inner, outer, arc
    while True:
        after, linked = g[g[PARENT] + node], g[g[LINK] + node]
        g[g[PARENT] + node], g[g[LINK] + node] = above, link
        if node == cut:
            break
        node, above, link = after, node, linked
    _follow(c, g)


@inlined
def _follow(c: Floats, g: Ints) -> None:
    """Work out depths and places along the tree."""
    depth, parent, waiting, places = g[DEPTH], g[PARENT], g[WAITING], g[PLACE]
    for node in range(1, g[NODES]):
        g[depth + node] = -1
    for first in range(1, g[NODES]):
        node, count = first, 0
        while g[depth + node] < 0:
            g[waiting + count] = node
            count += 1
            node = g[parent + node]
        while count > 0:
            count -= 1
            node = g[waiting + count]
            above, arc = g[parent + node], g[g[LINK] + node]
            least = c[g[ARC] + arc * ARC_W]
            ahead = g[g[ARC_N] + arc * ARC_NW + 1] == node
            c[places + node] = c[places + above] + (least if ahead else -least)
            g[depth + node] = g[depth + above] + 1
