/** What is drawn over the board while it is worked on: chosen, ghost, touching, chalk, place. */
import { svg } from "../../lib/svg.js";
import { figure } from "../../lib/words.js";

const TICK_PX = 9;
const OFF_PX = 5;

export class Overlay {
  /** @param {import("./board.js").Board} board */
  constructor(board) {
    this.board = board;
    this.group = svg("g", { class: "overlay" });
    this.parts = new Map();
    for (const name of ["ghost", "touching", "chalk", "chosen", "place"]) {
      const layer = svg("g", { class: name });
      this.parts.set(name, { layer, draw: null });
      this.group.append(layer);
    }
    board.sheet.append(this.group);
  }

  /** Draw a layer, and again at every zoom. */
  #set(name, draw) {
    const part = this.parts.get(name);
    part.draw = draw;
    part.layer.replaceChildren(...(draw ? draw() : []));
  }

  again() {
    for (const { layer, draw } of this.parts.values()) {
      if (draw) layer.replaceChildren(...draw());
    }
  }

  /** The outline's box as drawn. @param {import("../../lib/snapping.js").Box} box in the plate frame */
  #drawn(box) {
    const [a, b] = [this.board.plateX(box.left), this.board.plateX(box.right)];
    return { left: Math.min(a, b), right: Math.max(a, b), bottom: box.bottom, top: box.top };
  }

  /** Corner ticks and the distances to the nearest edges. @param {import("../../lib/snapping.js").Box | null} box */
  chosen(box) {
    this.#set("chosen", box && (() => [...this.#ticks(this.#drawn(box)), ...this.#distances(this.#drawn(box))]));
  }

  #ticks({ left, right, bottom, top }) {
    const px = this.board.mmPerPixel;
    const off = OFF_PX * px;
    const arm = TICK_PX * px;
    return [[left - off, bottom - off, 1, 1], [right + off, bottom - off, -1, 1],
      [right + off, top + off, -1, -1], [left - off, top + off, 1, -1]].map(([x, y, sx, sy]) =>
      svg("path", { d: `M${x} ${y + sy * arm}V${y}H${x + sx * arm}`, class: "chosen-ticks" }));
  }

  #distances(box) {
    const { width } = this.board;
    const height = Number(this.board.desk.dataset.height);
    const y = (box.bottom + box.top) / 2;
    const x = (box.left + box.right) / 2;
    const across = box.left <= width - box.right ? [0, box.left] : [box.right, width];
    const up = box.bottom <= height - box.top ? [0, box.bottom] : [box.top, height];
    return [...this.#dimension(across[0], y, across[1], y), ...this.#dimension(x, up[0], x, up[1])];
  }

  #dimension(x1, y1, x2, y2) {
    const length = Math.hypot(x2 - x1, y2 - y1);
    const px = this.board.mmPerPixel;
    if (x2 - x1 < 0 || y2 - y1 < 0 || length < 0.05) return [];
    const upright = x1 === x2;
    const short = length / px < 34;
    const arrow = (x, y, way) => {
      const turned = svg("g", { transform: `translate(${x} ${y}) rotate(${(upright ? 90 : 0) + (way > 0 ? 0 : 180)})` });
      const pixels = svg("g", { class: "px" });
      pixels.append(svg("path", { d: short ? "M0 0L-8 -1.9L-8 1.9Z" : "M0 0L8 -1.9L8 1.9Z", class: "arrow" }));
      turned.append(pixels);
      return turned;
    };
    const words = this.#words((x1 + x2) / 2, (y1 + y2) / 2, figure(length), upright, -10);
    return [svg("line", { x1, y1, x2, y2, class: "pen-thin" }), arrow(x1, y1, 1), arrow(x2, y2, -1), words];
  }

  #words(x, y, words, upright, off) {
    const at = svg("g", { transform: `translate(${x} ${y})` });
    const pixels = svg("g", { class: "px" });
    const text = svg("text", {
      class: "lettering-dimension plaque", "text-anchor": "middle", y: off, dy: ".35em", "aria-hidden": "true",
      transform: upright ? "rotate(-90)" : "",
    });
    text.textContent = words;
    pixels.append(text);
    at.append(pixels);
    return at;
  }

  /** Where a held module was. @param {Element | null} outline @param {string} transform */
  ghost(outline, transform) {
    const copy = outline?.cloneNode();
    copy?.setAttribute("class", "ghost fill-none");
    copy?.setAttribute("transform", transform);
    this.#set("ghost", copy ? () => [copy] : null);
  }

  /**
   * The ground that pairs share, cross-hatched, with a stop mark on it.
   * @param {[string, string][]} pairs of module ids
   */
  touching(pairs) {
    const shared = this.#outlines(pairs);
    for (const module of this.board.svg.querySelectorAll("g.module.is-touching")) module.classList.remove("is-touching");
    for (const pair of shared) for (const path of pair) path.parentElement.classList.add("is-touching");
    // a module that is swapped for another drawing of it has another outline
    const draw = () => this.#outlines(pairs).flatMap(([a, b], row) => this.#shared(a, b, row));
    this.#set("touching", shared.length ? draw : null);
  }

  /** Of those pairs that are both drawn. @param {[string, string][]} pairs of module ids */
  #outlines(pairs) {
    return pairs.map((pair) => pair.map((id) => this.board.outlineOf(id))).filter(([a, b]) => a && b);
  }

  #shared(a, b, row) {
    const clip = svg("clipPath", { id: `touch-${row}` });
    const cut = a.cloneNode();
    cut.setAttribute("transform", a.parentElement.getAttribute("transform"));
    clip.append(cut);
    const ground = b.cloneNode();
    ground.setAttribute("class", "shared");
    ground.setAttribute("fill", "url(#hatch-touch-board)");
    ground.setAttribute("transform", b.parentElement.getAttribute("transform"));
    const inside = svg("g", { "clip-path": `url(#touch-${row})` });
    inside.append(ground);
    return [clip, inside, this.#mark(a, b)];
  }

  /** A stop mark in the middle of what the two boxes share, or between them. */
  #mark(a, b) {
    const [one, two] = [a, b].map((path) => {
      const box = path.getBBox();
      const [x, y] = offset(path.parentElement);
      return { left: box.x + x, right: box.x + box.width + x, bottom: box.y + y, top: box.y + box.height + y };
    });
    const x = (Math.max(one.left, two.left) + Math.min(one.right, two.right)) / 2;
    const y = (Math.max(one.bottom, two.bottom) + Math.min(one.top, two.top)) / 2;
    return this.sign("stop", x, y);
  }

  /** @param {string} name @param {number} x @param {number} y as drawn */
  sign(name, x, y) {
    const at = svg("g", { transform: `translate(${x} ${y})`, class: "mark" });
    const pixels = svg("g", { class: "px" });
    pixels.append(svg("use", { href: `#sign-${name}` }));
    at.append(pixels);
    return at;
  }

  /** Chalk lines across the plate, with their figure at the edge. @param {import("../../lib/snapping.js").Chalk[]} lines */
  chalk(lines) {
    const { width } = this.board;
    const height = Number(this.board.desk.dataset.height);
    this.#set("chalk", lines.length ? () => lines.flatMap(({ way, at }) => {
      const drawn = way === "x" ? this.board.plateX(at) : at;
      const line = way === "x" ? { x1: drawn, x2: drawn, y1: 0, y2: height } : { x1: 0, x2: width, y1: drawn, y2: drawn };
      const words = way === "x" ? this.#words(drawn, height, figure(at), false, -10) : this.#words(width, drawn, figure(at), false, -10);
      return [svg("line", { ...line, class: "pen-axis" }), words];
    }) : null);
  }

  /** Point at a place of a finding. @param {{x: number, y: number} | null} place in the plate frame @param {string} gravity */
  show(place, gravity) {
    this.#set("place", place && (() => {
      const x = this.board.plateX(place.x);
      const ring = svg("circle", { cx: x, cy: place.y, r: 18 * this.board.mmPerPixel, class: "place-ring fill-none" });
      return [ring, this.sign(gravity, x, place.y)];
    }));
  }
}

function offset(group) {
  const found = /translate\(([-\d.e]+)[ ,]+([-\d.e]+)\)/.exec(group.getAttribute("transform"));
  return found ? [Number(found[1]), Number(found[2])] : [0, 0];
}
