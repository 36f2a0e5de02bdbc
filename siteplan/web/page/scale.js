// How large the lot is on the screen, and where the pointer is on it.
import { svg, at } from "./dom.js";
import { length } from "./forms.js";

const LEAST = 70; // pixels
const STEPS = [1, 2, 5, 10];

// The first of 1, 2, 5, 10, 20 ... that is at least so long.
export function round(least) {
  const power = 10 ** Math.floor(Math.log10(least));
  return STEPS.map((step) => step * power).find((each) => each >= least - 1e-9);
}

export class Scale {
  constructor(app) {
    this.app = app;
    // nothing on the lot runs through it
    this.under = svg("rect", { fill: "#fff", "fill-opacity": 0.9 });
    this.bar = svg("path", { class: "scale" });
    this.words = svg("text", { "text-anchor": "middle", "font-size": 11, fill: "#1d1d1b" });
    // walls and tapes are typed by where they lead: north is up
    this.north = svg("g", { class: "north" }, svg("path", { class: "arrow", d: "M0 14V-12M-4 -5L0 -13L4 -5" }), svg("text", { "text-anchor": "middle", y: -17, "font-size": 11, fill: "#1d1d1b" }, "N"));
    app.board.over.append(svg("g", { "aria-hidden": "true", "pointer-events": "none" }, this.under, this.bar, this.words, this.north));
    app.board.watchers.push(() => this.show());
    app.board.hover = (event) => this.tell(event);
  }

  show() {
    const { board, lot } = this.app, { name, metres } = lot.unit, [width, height] = board.size;
    const long = round(LEAST / board.scale / metres), wide = long * metres * board.scale, right = width - 16, top = height - 16;
    this.bar.setAttribute("d", `M${right - wide} ${top - 6}v6h${wide}v-6`);
    for (const [name, value] of Object.entries({ x: right - wide - 5, y: top - 19, width: wide + 10, height: 24 })) this.under.setAttribute(name, value);
    this.words.textContent = `${long} ${name}`;
    this.words.setAttribute("x", right - wide / 2);
    this.words.setAttribute("y", top - 5);
    this.north.setAttribute("transform", `translate(${right - 8} ${top - 42})`);
  }

  // The place under the pointer, and while something is drawn where a tap would put the next point and how far that is from the one before.
  tell(event) {
    const { board, lot, tools } = this.app, place = tools.aim(event) || board.ground(event), before = tools.points.at(-1);
    const far = before ? `, ${length(Math.hypot(place[0] - before[0], place[1] - before[1]), lot)} ${lot.unit.name} from the last` : "";
    at("place").textContent = `E ${length(place[0], lot)}, N ${length(place[1], lot)} ${lot.unit.name}${far}`;
  }
}
