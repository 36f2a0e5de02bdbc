// The ground that the rules leave, as strokes in a mask: it follows what is dragged frame by frame.
import { svg } from "./dom.js";
import { path } from "./drawing.js";

export class Ground {
  constructor(board) {
    this.mask = svg("mask", { id: "free", maskUnits: "userSpaceOnUse" });
    this.cover = svg("rect", { class: "free", mask: "url(#free)" });
    board.defs.append(this.mask);
    this.things = new Map();
  }

  // `part`: distances of one part, property line and things, in metres.
  show(lot, part) {
    this.things.clear();
    this.mask.replaceChildren();
    this.cover.setAttribute("visibility", part && lot.parcel ? "visible" : "hidden");
    if (!part || !lot.parcel) return;
    const points = lot.parcel.rings.flat(), xs = points.map((point) => point[0]), ys = points.map((point) => point[1]);
    const box = { x: Math.min(...xs), y: Math.min(...ys), width: Math.max(...xs) - Math.min(...xs), height: Math.max(...ys) - Math.min(...ys) };
    for (const part of [this.mask, this.cover]) for (const [name, value] of Object.entries(box)) part.setAttribute(name, value);
    this.parcel = svg("path", { d: outline(lot.parcel.rings, true), fill: "#fff", "fill-rule": "evenodd", stroke: "#000", "stroke-width": 2 * part.line[0], "stroke-linejoin": "round" });
    this.mask.append(this.parcel);
    for (const thing of lot.things) {
      const kept = part.things[thing.id];
      if (!kept) continue;
      const area = thing.is.endsWith("Polygon");
      const made = svg("path", { d: outline(thing.rings, area), fill: area ? "#000" : "none", stroke: "#000", "stroke-width": 2 * kept[0], "stroke-linejoin": "round", "stroke-linecap": "round" });
      this.things.set(thing.id, [made, area]);
      this.mask.append(made);
    }
  }

  move(id, points) {
    if (id === "parcel") { this.parcel?.setAttribute("d", outline([points], true)); return; }
    const known = this.things.get(id);
    if (known) known[0].setAttribute("d", outline([points], known[1]));
  }
}

// A point is a line of hardly any length: its round ends make the circle.
export function outline(rings, closed) {
  return rings.map((ring) => ring.length === 1 ? `M${ring[0].join(" ")}l0.0001 0` : path(ring, closed)).join("");
}
