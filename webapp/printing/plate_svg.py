"""The plate as SVG in mm: one user unit is one mm, so that every program measures it right."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree import ElementTree

from layout_engine.geometry.corners import Corner, rounded
from layout_engine.model.job import Job
from layout_engine.sheets.holes import BoardHoles, Hole, board_holes
from layout_engine.wiring import Routing

NAMESPACE = "http://www.w3.org/2000/svg"
LINE = {"fill": "none", "stroke": "#000000", "stroke-width": "0.1"}
FULL_TURN = 180.0


def number(value: float) -> str:
    """A length as SVG and CSV carry it: decimal point, micrometres, no tail of noughts."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def plate_svg(job: Job, routing: Routing | None = None) -> bytes:
    """Plate edge, cut-outs and holes in groups, seen from the front; y runs down in SVG."""
    width, height = job.plate.size
    root = ElementTree.Element("svg", {
        "xmlns": NAMESPACE, "width": f"{number(width)}mm", "height": f"{number(height)}mm",
        "viewBox": f"0 0 {number(width)} {number(height)}"})
    ElementTree.SubElement(root, "title").text = f"{job.name}: plate, seen from the front"
    board = board_holes(job, routing)
    edge = ElementTree.SubElement(root, "g", {"id": "PLATE_EDGE", **LINE})
    ElementTree.SubElement(edge, "path", {
        "d": _edge(job.plate.outline, job.plate.corner_radius, height)})
    for ring in job.plate.holes:
        ElementTree.SubElement(edge, "path", {"d": _edge(ring, 0.0, height)})
    _holes(ElementTree.SubElement(root, "g", {"id": "HOLES", **LINE}), board, height)
    text: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
    return text


def _holes(group: ElementTree.Element, board: BoardHoles, height: float) -> None:
    for hole in board.holes:
        circle = ElementTree.SubElement(group, "circle", {
            "id": f"hole-{hole.id}", "cx": number(hole.x), "cy": number(height - hole.y),
            "r": _radius(hole)})
        ElementTree.SubElement(circle, "title").text = f"{hole.id}: {hole.for_}"
    for cut in board.cut_outs:
        path = ElementTree.SubElement(group, "path", {
            "id": f"cut-out-{cut.id}", "d": _edge(cut.outline, 0.0, height)})
        ElementTree.SubElement(path, "title").text = f"{cut.id}: {cut.for_}"


def _radius(hole: Hole) -> str:
    return f"{hole.diameter / 2:.4f}".rstrip("0").rstrip(".")


def _edge(points: Sequence[tuple[float, float]], radius: float, height: float) -> str:
    """A closed path; rounded corners are true arcs. y turned over."""
    steps: list[str] = []
    for corner in rounded(points, radius):
        letter = "L" if steps else "M"
        if isinstance(corner, Corner):
            large = int(corner.sweep > FULL_TURN)
            steps.append(f"{letter}{_at(corner.start, height)} A{number(corner.radius)} "
                         f"{number(corner.radius)} 0 {large} 0 {_at(corner.end, height)}")
        else:
            steps.append(f"{letter}{_at(corner, height)}")
    return " ".join((*steps, "Z"))


def _at(point: tuple[float, float], height: float) -> str:
    return f"{number(point[0])} {number(height - point[1])}"
