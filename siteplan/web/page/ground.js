// The ground that the rules leave: the lot in green, and over it in the white of the board what is kept off. It follows what
// is dragged frame by frame, and of a lot with many things no more is painted anew than what moves.
import { put, svg } from "./dom.js";
import { path } from "./drawing.js";

const WHITE = "#fff"; // of the board

export class Ground {
  constructor() {
    this.cover = svg("g", { id: "free" });
    this.things = new Map();
  }

  // `part`: distances of one part, property line and things, in metres.
  show(lot, part) {
    this.things.clear();
    put(this.cover);
    this.parcel = null;
    // what lies in a pond has no ground on land; the pond itself is drawn over the ground
    if (!part || !lot.parcel || !part.land) return;
    this.parcel = svg("path", { class: "free", d: outline(lot.parcel.rings, true), "fill-rule": "evenodd", stroke: WHITE, "stroke-width": 2 * part.line[0], "stroke-linejoin": "round" });
    this.cover.append(this.parcel);
    for (const thing of lot.things) {
      const kept = part.things[thing.id];
      if (!kept) continue;
      const area = thing.is.endsWith("Polygon");
      const made = svg("path", { d: outline(thing.rings, area), fill: area ? WHITE : "none", stroke: WHITE, "stroke-width": 2 * kept[0], "stroke-linejoin": "round", "stroke-linecap": "round" });
      this.things.set(thing.id, [made, area]);
      this.cover.append(made);
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
