// Draws what the server hands over of the sheet: its lines, areas, hatches, symbols and names.
import { svg } from "./dom.js";

const PIXELS = 3.2; // of a millimetre on the sheet
export const BELOW = 17; // under a symbol [pixels]

export const path = (points, closed) => `M${points.map(([x, y]) => `${x} ${y}`).join("L")}${closed ? "Z" : ""}`;

// Whether a line runs through a box: left, right, top, bottom.
function through([[x, y], [toX, toY]], [left, right, top, bottom]) {
  let from = 0, to = 1;
  for (const [start, way, least, most] of [[x, toX - x, left, right], [y, toY - y, top, bottom]]) {
    if (way === 0) { if (start < least || start > most) return false; continue; }
    const ends = [(least - start) / way, (most - start) / way];
    from = Math.max(from, Math.min(...ends));
    to = Math.min(to, Math.max(...ends));
  }
  return from <= to;
}

export class Drawing {
  constructor(board, look) {
    this.board = board;
    this.look = look;
    this.symbols = new Set();
    this.names = [];
    this.lines = []; // on the ground: what no name is crossed out by, where there is room beside
    this.patterns = new Map();
    board.watchers.push(() => this.sized());
  }

  clear() { this.symbols.clear(); this.names = []; }

  group(primitives, attributes = {}) {
    const group = svg("g", attributes);
    for (const item of primitives) group.append(...this.item(item));
    return group;
  }

  item(item) {
    const [color, weight, dashes] = this.look.styles[item.style];
    if (item.line) return [this.stroke(path(item.line), color, weight, dashes)];
    if (item.area) return [svg("path", { d: item.area.map((ring) => path(ring, true)).join(""), fill: color, "fill-rule": "evenodd" })];
    if (item.hatch) return [svg("path", { d: item.hatch.map((ring) => path(ring, true)).join(""), fill: `url(#${this.pattern(item, color, weight)})`, "fill-rule": "evenodd" })];
    const shape = this.look.symbols[item.symbol];
    const mark = svg("g", {},
      shape.fills.map((ring) => svg("path", { d: path(ring, true), fill: color })),
      shape.strokes.map((ring) => this.stroke(path(ring), color, weight, [])));
    mark.place = item;
    this.symbols.add(mark);
    this.size(mark);
    return [mark];
  }

  stroke(d, color, weight, dashes) {
    return svg("path", { d, fill: "none", stroke: color, "stroke-width": Math.max(1, weight * PIXELS), "stroke-dasharray": dashes.map((dash) => dash * PIXELS).join(" ") || null, "vector-effect": "non-scaling-stroke" });
  }

  pattern(item, color, weight) {
    const name = `hatch-${item.style}-${item.gap}-${item.angle}`.replaceAll(".", "_");
    if (!this.patterns.has(name)) {
      const gap = item.gap * PIXELS;
      const made = svg("pattern", { id: name, patternUnits: "userSpaceOnUse", width: gap, height: gap },
        svg("line", { x1: 0, y1: gap / 2, x2: gap, y2: gap / 2, stroke: color, "stroke-width": weight * PIXELS }));
      made.angle = item.angle;
      this.patterns.set(name, made);
      this.board.defs.append(made);
      this.turn(made);
    }
    return name;
  }

  turn(pattern) { pattern.setAttribute("patternTransform", `rotate(${pattern.angle}) scale(${1 / this.board.scale})`); }

  size(mark) {
    const { at: [x, y], size, angle } = mark.place;
    mark.setAttribute("transform", `translate(${x} ${y}) rotate(${angle || 0}) scale(${Math.max(size, 1.2) * PIXELS / this.board.scale})`);
  }

  // `below`: pixels under the place, so that a symbol there is seen.
  name(text, spot, below = 0) {
    const made = svg("text", { "text-anchor": "middle", "font-size": 11, fill: "#3f3f3f" }, text);
    this.names.push([made, spot, below]);
    return made;
  }

  // Names of a group are gone.
  forget(group) { this.names = this.names.filter(([made]) => made.parentNode !== group); }

  // The height of a name that lines would cross out at its own: over or under them, nearest first.
  beside(y, x, half, lines) {
    const clear = (off) => !lines.some((line) => through(line, [x - half, x + half, y + off - 8, y + off + 8]));
    return y + ([0, -16, 16, -32, 32].find(clear) ?? 0);
  }

  // Names that would stand over one another are left out until the board is nearer.
  sized() {
    for (const mark of this.symbols) this.size(mark);
    for (const pattern of this.patterns.values()) this.turn(pattern);
    const taken = [], crossing = this.lines.map((line) => line.map((point) => this.board.seen(point)));
    for (const [made, spot, below] of this.names) {
      const [seen, place] = this.board.seen(spot), half = made.textContent.length * 3.7 + 4, [width] = this.board.size;
      // a name near the edge stands wholly on the board, as long as its thing does
      const x = seen >= 0 && seen <= width && width > 2 * half ? Math.min(Math.max(seen, half), width - half) : seen;
      const y = this.beside(place + below, x, half, crossing);
      const free = !taken.some(([left, right, top]) => x - half < right && x + half > left && Math.abs(y - top) < 15);
      made.setAttribute("x", x);
      made.setAttribute("y", y + 4);
      made.setAttribute("visibility", free ? "visible" : "hidden");
      if (free) taken.push([x - half, x + half, y]);
    }
  }
}
