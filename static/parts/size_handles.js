/** The handles at the plate's edges: dragging one types a size into its field. */

const LEAST_MM = 20;

/**
 * Size of the plate for a pointer at a point of the drawing, whole mm.
 * @param {string} handle "x", "y" or "xy" @param {{x: number, y: number}} point
 * @param {{width: number, height: number}} before
 */
export function draggedSize(handle, point, before) {
  const whole = (/** @type {number} */ value) => Math.max(LEAST_MM, Math.round(value));
  return {
    width: handle.includes("x") ? whole(point.x) : before.width,
    height: handle.includes("y") ? whole(point.y) : before.height,
  };
}

export class SizeHandles {
  /** @param {HTMLElement} drawings @param {(size: {width: number, height: number}, done: boolean) => void} typed */
  constructor(drawings, typed) {
    this.drawings = drawings;
    this.typed = typed;
    /** @type {{id: number, handle: string, svg: SVGSVGElement, sheet: SVGGElement, before: {width: number, height: number}, size: {width: number, height: number}, ghost: SVGRectElement} | null} */
    this.drag = null;
    drawings.addEventListener("pointerdown", (event) => this.down(event));
    drawings.addEventListener("pointermove", (event) => this.move(event));
    drawings.addEventListener("pointerup", (event) => this.end(event, true));
    drawings.addEventListener("pointercancel", (event) => this.end(event, false));
    document.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && this.drag) this.end(null, false);
    });
  }

  /** @param {PointerEvent} event */
  down(event) {
    const handle = event.target instanceof Element ? event.target.closest("[data-handle]") : null;
    const svg = handle?.closest("svg");
    const sheet = svg?.querySelector("g.sheet");
    if (!handle || !(svg instanceof SVGSVGElement) || !(sheet instanceof SVGGElement)) return;
    if (event.button !== 0 || this.drag) return;
    event.preventDefault();
    svg.setPointerCapture(event.pointerId);
    const before = sizeOf(sheet);
    const ghost = document.createElementNS("http://www.w3.org/2000/svg", "rect");
    ghost.setAttribute("class", "plate-ghost");
    sheet.append(ghost);
    this.drag = {
      id: event.pointerId, handle: handle.getAttribute("data-handle") ?? "", svg, sheet, before,
      size: before, ghost,
    };
  }

  /** @param {PointerEvent} event */
  move(event) {
    const drag = this.drag;
    if (!drag || event.pointerId !== drag.id) return;
    const matrix = drag.sheet.getScreenCTM();
    if (!matrix) return;
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    drag.size = draggedSize(drag.handle, point, drag.before);
    drag.ghost.setAttribute("width", String(drag.size.width));
    drag.ghost.setAttribute("height", String(drag.size.height));
    this.typed(drag.size, false);
  }

  /** @param {PointerEvent | null} event @param {boolean} kept */
  end(event, kept) {
    const drag = this.drag;
    if (!drag || (event && event.pointerId !== drag.id)) return;
    this.drag = null;
    drag.ghost.remove();
    this.typed(kept ? drag.size : drag.before, true);
  }
}

/** The drawn plate's size: where its corner handle stands. @param {SVGGElement} sheet */
function sizeOf(sheet) {
  const corner = sheet.querySelector('[data-handle="xy"]');
  const place = /translate\(([-\d.]+)[ ,]+([-\d.]+)\)/.exec(corner?.getAttribute("transform") ?? "");
  return { width: Number(place?.[1] ?? 0), height: Number(place?.[2] ?? 0) };
}
