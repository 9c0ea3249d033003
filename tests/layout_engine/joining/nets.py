"""What is joined in a document, worked out anew from its plain values: independent of the engine.

Only wires and the paths of part types are looked at; nothing of layout_engine is imported.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

Document = dict[str, Any]
METAL_OHMS = 0.1  # contacts and tracks are milliohms, windings ohms; common practice, no source


class Union:
    """Plain union-find."""

    def __init__(self) -> None:
        self.up: dict[str, str] = {}

    def find(self, a: str) -> str:
        while self.up.get(a, a) != a:
            a = self.up[a]
        return a

    def join(self, a: str, b: str) -> None:
        self.up[self.find(a)] = self.find(b)


def type_of(document: Document, part_id: str) -> Document:
    part = next(p for p in document["parts"] if p["id"] == part_id)
    return document["types"][part["type"]]


def terminal(document: Document, end: str) -> Document:
    part_id, terminal_id = end.split(".")
    return next(t for t in type_of(document, part_id)["terminals"] if t["id"] == terminal_id)


def role(document: Document, end: str) -> str:
    return terminal(document, end)["role"]


def wires(document: Document) -> list[tuple[str, str]]:
    return [(c["from"], c["to"]) for c in document["connections"]]


def at_ends(document: Document) -> Counter[str]:
    return Counter(end for wire in wires(document) for end in wire)


def supply_ends(document: Document) -> Iterator[tuple[str, str, str, Any]]:
    """(part, plus end, minus end, volts or None) of every load, driver and converter input."""
    for part in document["parts"]:
        kind = document["types"][part["type"]]
        for block in ("loads", "drives", "converters"):
            for entry in kind.get(block, []):
                plus, minus = (f"{part['id']}.{entry[key]}" for key in ("plus", "minus"))
                yield part["id"], plus, minus, entry.get("volts")


def sources(document: Document) -> Iterator[tuple[str, float]]:
    """(plus end, usual volts) of the battery and every converter's output; chargers left out."""
    for part in document["parts"]:
        kind = document["types"][part["type"]]
        if kind.get("battery"):
            yield f"{part['id']}.{kind['battery']['plus']}", kind["battery"]["volts"]
        if kind["kind"] != "charger":
            for entry in kind.get("converters", []):
                yield f"{part['id']}.{entry['out_plus']}", entry["out_volts"]


Step = tuple[str, str]  # (part, "fuse" or "switch"): all ways of one block count as one


def positive_edges(document: Document) -> Iterator[tuple[str, str, Step | None, str]]:
    """(end, end, step, way) of every wire, and every path of positive ends that conducts."""
    for a, b in wires(document):
        yield a, b, None, ""
    for part in document["parts"]:
        for path in document["types"][part["type"]].get("paths", []):
            a, b = f"{part['id']}.{path['from']}", f"{part['id']}.{path['to']}"
            if {role(document, a), role(document, b)} != {"positive"}:
                continue
            if path.get("fuse"):
                yield a, b, (part["id"], "fuse"), b
            elif path.get("switch"):
                yield a, b, (part["id"], "switch"), ""
            elif path.get("ohms", 0) < METAL_OHMS:
                yield a, b, None, ""


def routes(document: Document) -> dict[str, tuple[str, tuple[Step, ...], str]]:
    """For every end with a positive supply: its source, what lies between, and the last way."""
    edges: dict[str, list[tuple[str, Step | None, str]]] = {}
    for a, b, step, way in positive_edges(document):
        edges.setdefault(a, []).append((b, step, way))
        edges.setdefault(b, []).append((a, step, way))
    found: dict[str, tuple[str, tuple[Step, ...], str]] = {}
    for source, _ in sources(document):
        waiting: list[tuple[str, tuple[Step, ...], str]] = [(source, (), "")]
        while waiting:
            here, steps, last = waiting.pop(0)
            if here in found:
                continue
            found[here] = (source, steps, last)
            for there, step, way in edges.get(here, []):
                waiting.append((there, (*steps, step) if step else steps, way or last))
    return found


def supply_tree(document: Document) -> tuple[dict[str, Any], set[frozenset[str]]]:
    """Source and steps for every supply end, and which supply ends share a last fuse.

    Two jobs with the same answer differ at most in which numbered way of a block feeds what.
    """
    known = routes(document)
    pluses = {plus for _, plus, _, _ in supply_ends(document)}
    by_way: dict[tuple[str, str], set[str]] = {}
    for plus in pluses & known.keys():
        by_way.setdefault((known[plus][0], known[plus][2]), set()).add(plus)
    return ({plus: known[plus][:2] if plus in known else None for plus in pluses},
            {frozenset(group) for group in by_way.values()})


def neighbours(document: Document) -> Counter[tuple[str, str, str]]:
    """How many wires of a role run between two parts."""
    found: Counter[tuple[str, str, str]] = Counter()
    for wire in wires(document):
        a, b = sorted(wire)
        roles = "/".join(sorted({role(document, a), role(document, b)}))
        found[a.split(".")[0], b.split(".")[0], roles] += 1
    return found


def faults(document: Document) -> list[str]:
    """What no set of connections may do: too many wires, wrong polarity, wrong volts, mixed up."""
    found = [f"{end} has {count} wires" for end, count in at_ends(document).items()
             if count > terminal(document, end).get("max_wires", 1)]
    unused = {f"{p['id']}.{t}" for p in document["parts"] for t in p.get("unused", [])}
    found += [f"{end} is left open on purpose" for end in unused & at_ends(document).keys()]
    metal = Union()
    for a, b in wires(document):
        metal.join(a, b)
        kinds = {role(document, a), role(document, b)}
        if len(kinds) > 1 and kinds != {"signal", "data"}:
            found.append(f"{a} to {b}: {sorted(kinds)}")
    for part in document["parts"]:
        for path in document["types"][part["type"]].get("paths", []):
            if path.get("ohms", 0) < METAL_OHMS or path.get("switch") or path.get("fuse"):
                metal.join(f"{part['id']}.{path['from']}", f"{part['id']}.{path['to']}")
    polarity: dict[str, set[str]] = {}
    for end in at_ends(document):
        polarity.setdefault(metal.find(end), set()).add(role(document, end))
    found += [f"short circuit at {net}" for net, kinds in polarity.items()
              if {"positive", "negative"} <= kinds]
    volts, known = dict(sources(document)), routes(document)
    for _, plus, _, limits in supply_ends(document):
        if plus in known and limits and not limits[0] <= volts[known[plus][0]] <= limits[1]:
            found.append(f"{plus} takes {limits}, gets {volts[known[plus][0]]} V")
    return found
