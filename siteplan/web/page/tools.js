// Tools that draw something new: the property line, a house by its walls, what is on the lot, an entry.
import { el, put, field, choice, svg } from "./dom.js";
import { outline } from "./ground.js";
import { apart, facing, onLine, snap } from "./snap.js";
import { act, sendFile } from "./server.js";
import { length } from "./forms.js";
import { measures, wallsOf } from "./tape.js";

const USUAL = ["potable well", "building", "driveway", "septic tank", "drainfield", "reserve area", "tree", "street", "water line", "sewer line", "gas line", "electric line", "overhead power line", "easement", "pond", "wetland", "fuel tank"];
const PAVED = ["driveway"]; // what has a width that is seen, where it is drawn by its middle
const NEAR = 0.6; // metres: an entry so near to a wall is in it
const FEW = { at: 1, line: 2, area: 3 };
const SHAPES = { at: "as a point", line: "as a line", area: "as an area" };

// What a thing is called on a sketch: the well, the tank; but the sewer, not the line.
const called = (kind) => kind.split(" ").filter((word) => word !== "line").at(-1);

export class Tools {
  constructor(app) {
    this.app = app;
    this.points = [];
    this.kind = "potable well";
    this.shape = "at";
    this.drawn = svg("path", { class: "sketch open" });
    app.board.watchers.push(() => this.sketch());
  }

  begin(tool) {
    this.points = [];
    this.sketch();
    this.app.board.element.classList.toggle("drawing", tool !== "move");
    const forms = { parcel: () => this.parcelForm(), house: () => this.houseForm(), add: () => this.addForm(), entry: () => this.entryForm(), why: () => this.whyForm() };
    if (forms[tool]) put(this.app.form, forms[tool]());
  }

  get drawing() { return this.app.tool === "parcel" ? "area" : this.app.tool === "add" ? this.shape : "at"; }

  // --- points tapped on the board

  tap(event) {
    const { lot, board, tool } = this.app;
    const last = this.points.at(-1), first = this.points[0], least = FEW[this.drawing];
    const [place] = snap(board.ground(event), { lot, scale: board.scale, without: "", before: last ? [last, this.points.at(-2)] : [], after: [] });
    if (tool === "why") { this.why(place); return; }
    if (tool === "entry") { this.addEntry(place); return; }
    if (tool === "house") { this.corner = place; this.showCorner(); return; }
    const closes = first && this.points.length >= least && Math.hypot(...[0, 1].map((axis) => board.seen(place)[axis] - board.seen(first)[axis])) < 14;
    if (closes) { this.finish(); return; }
    this.points.push(place);
    this.sketch();
    if (this.drawing === "at") this.finish();
    else this.app.say(this.points.length < least ? `Point ${this.points.length + 1} of at least ${least}.` : this.drawing === "area" ? "Tap the first point again to close, or Done." : "Tap on, or Done.");
  }

  sketch() {
    const { board } = this.app;
    if (!this.points.length) { this.drawn.remove(); return; }
    this.drawn.setAttribute("d", outline([this.points], false));
    this.drawn.classList.toggle("open", true);
    if (!this.drawn.isConnected) board.world.append(this.drawn);
    this.list && (this.list.value = this.points.map((point) => point.map((value) => length(value, this.app.lot)).join(", ")).join("\n"));
  }

  finish() {
    const points = this.points;
    if (points.length < FEW[this.drawing]) { this.app.say(`It takes at least ${FEW[this.drawing]} points.`); return; }
    this.points = [];
    this.sketch();
    if (this.app.tool === "parcel") this.app.change([{ op: "points", ref: "parcel", key: "area", points }], "move");
    else this.addThing(points);
  }

  // Points typed line by line: "x, y" in the unit of the lot.
  typed() {
    const { metres } = this.app.lot.unit;
    const rows = this.list.value.split("\n").map((row) => row.trim()).filter(Boolean).map((row) => row.split(/[\s,;]+/).map(Number));
    if (rows.some((row) => row.length !== 2 || row.some((value) => !Number.isFinite(value)))) { this.app.say("Write a point a line: x, y."); return; }
    this.points = rows.map((row) => row.map((value) => value * metres));
    this.finish();
  }

  typing(words) {
    this.list = el("textarea", { rows: words === "Place" ? 1 : 5, placeholder: words === "Place" ? "100, 150" : "0, 0\n100, 0\n100, 150" });
    return [field(`${words} (${this.app.lot.unit.name})`, this.list), el("div", { class: "row" }, el("button", { onclick: () => this.list.value.trim() ? this.typed() : this.finish() }, "Done"), el("button", { onclick: () => this.app.pick("move") }, "Cancel"))];
  }

  // --- the property line

  parcelForm() {
    this.app.say("Tap the corners of the lot one after the other.");
    const deed = el("textarea", { rows: 5, placeholder: "Beginning at an iron pin, thence N 45°30' E 123.45 feet, ..." });
    const file = el("input", { type: "file" }), where = el("input", { placeholder: "PARCEL_ID = 12-034" }), spot = el("input", { placeholder: "-71.4,42.6" });
    return [
      el("h2", {}, "Property line"),
      el("p", {}, "Tap its corners on the board, or type them: x to the east, y to the north of the south-west corner."),
      this.typing("Corners"),
      el("h2", {}, "From a deed"),
      field("Its text", deed),
      el("button", { onclick: () => this.app.run(() => act("deed", { digest: this.app.lot.digest, text: deed.value }), "move") }, "Draw the deed"),
      el("h2", {}, "From a file"),
      el("p", {}, "County parcels or a survey: GeoJSON, GeoPackage, Shapefile as a zip, KML, DXF."),
      field("File", file), field("Which lot, by a column", where), field("or by a point", spot),
      el("button", { onclick: () => file.files[0] && this.app.run(() => sendFile(file.files[0], { digest: this.app.lot.digest, where: where.value, at: spot.value }), "move") }, "Take the lot"),
    ];
  }

  // --- a house by its walls

  houseForm() {
    this.app.say("Tap where the first wall begins, then type the walls.");
    const unit = this.app.lot.unit.name, house = unit === "ft" ? "40 ft L 28 ft L 40 ft" : "12 m L 9 m L 12 m";
    this.measured = this.app.lot.parcel ? measures(this.app, null) : null;
    this.cornerX = el("input", { inputmode: "decimal" });
    this.cornerY = el("input", { inputmode: "decimal" });
    const direction = el("input", { value: "east" }), walls = el("input", { placeholder: house });
    const name = el("input", { value: this.app.free("house") });
    const squared = this.app.lot0.palette.filter((each) => each.shapes.includes("area")).map((each) => each.kind);
    const kind = choice([...USUAL.filter((each) => squared.includes(each)), ...squared.filter((each) => !USUAL.includes(each))], "building", { onchange: (event) => { name.value = this.app.free(event.target.value === "building" ? "house" : called(event.target.value)); } });
    return [
      el("h2", {}, "House by its walls"),
      el("p", {}, "A house, and whatever else has sides: a tank, a drainfield. Go round it as with a tape, from the corner given: a length, R for a right turn or L for a left one, the next length. Corners are square; the last wall may be left out. R 45 turns by 45 degrees."),
      field("Kind", kind), field(`First corner, x (${unit})`, this.cornerX), field(`and y (${unit})`, this.cornerY),
      this.measured ? el("details", {}, el("summary", {}, "or the corner as it is measured"), this.measured) : null,
      field("First wall leads", direction), field("Walls", walls), field("Name", name),
      el("button", { onclick: () => this.addHouse(direction.value, walls.value, name.value, kind.value) }, "Draw it"),
    ];
  }

  showCorner() {
    const [x, y] = this.corner.map((value) => length(value, this.app.lot));
    this.cornerX.value = x;
    this.cornerY.value = y;
    this.points = [this.corner];
    this.sketch();
  }

  addHouse(direction, walls, name, kind) {
    const told = wallsOf(walls), typed = [Number(this.cornerX.value), Number(this.cornerY.value)], corner = this.cornerX.value ? typed : this.measured?.read();
    if (!corner || typed.some((value) => !Number.isFinite(value))) { this.app.say("Say where the first corner is."); return; }
    if (!told.length) { this.app.say("Say how long the walls are, and which way they turn."); return; }
    this.points = [];
    this.sketch();
    this.app.change([{ op: "add", list: "feature", values: { id: name, kind, label: name.toUpperCase(), walls: told, corner, direction } }], "move", name);
  }

  // --- what is on the lot

  addForm() {
    const { palette } = this.app.lot0, names = palette.map((each) => each.kind);
    const sorted = [...USUAL.filter((name) => names.includes(name)), ...names.filter((name) => !USUAL.includes(name))];
    if (!sorted.includes(this.kind)) this.kind = sorted[0];
    const rest = el("div"), refresh = () => { this.points = []; this.sketch(); put(rest, this.addRest(palette, refresh)); };
    refresh();
    return [el("h2", {}, "Add what is on the lot"), field("Kind", choice(sorted, this.kind, { id: "kind", onchange: (event) => { this.kind = event.target.value; refresh(); } })), rest];
  }

  addRest(palette, refresh) {
    const { shapes } = palette.find((each) => each.kind === this.kind);
    if (!shapes.includes(this.shape)) this.shape = shapes[0];
    const drawn = choice(shapes.map((key) => [key, SHAPES[key]]), this.shape, { onchange: (event) => { this.shape = event.target.value; refresh(); } });
    this.called = el("input", { value: this.app.free(called(this.kind)) });
    this.app.say(this.shape === "at" ? `Tap where the ${this.kind} is.` : `Tap the points of the ${this.kind}.`);
    this.width = this.shape === "line" ? el("input", { placeholder: this.app.lot.unit.name === "ft" ? "12 ft" : "4 m" }) : null;
    return [field("Drawn", drawn), field("Name", this.called), this.width ? field(PAVED.includes(this.kind) ? "How wide" : "Width, where it has one", this.width) : null, this.typing(this.shape === "at" ? "Place" : "Points"),
      this.shape === "at" && this.app.lot.parcel ? [el("p", {}, "Or as it is measured:"), measures(this.app, null, (at) => this.addMeasured(at))] : null];
  }

  addMeasured(at) {
    const id = this.called.value.trim() || this.app.free(this.kind);
    this.app.change([{ op: "add", list: "feature", values: { id, kind: this.kind, at } }], "move", id);
  }

  addThing(points) {
    if (PAVED.includes(this.kind) && this.width && !this.width.value.trim()) {
      // as a line alone it would be a hair's breadth, and every distance measured from its middle
      this.points = points;
      this.sketch();
      this.app.say(`Say how wide the ${this.kind} is, then Done.`);
      this.width.focus();
      return;
    }
    const id = this.called.value.trim() || this.app.free(this.kind);
    this.app.change([{ op: "add", list: "feature", key: this.shape, points, values: { id, kind: this.kind, ...(this.width?.value.trim() ? { width: this.width.value.trim() } : {}) } }], "move", id);
  }

  // --- the entry, and why not here

  entryForm() {
    this.app.say("Tap the wall where the pipes enter the building.");
    this.list = null;
    const x = el("input", { inputmode: "decimal" }), y = el("input", { inputmode: "decimal" }), { name, metres } = this.app.lot.unit;
    return [
      el("h2", {}, "Where the pipes enter"), el("p", {}, "At the wall. Where none is stated, places on every wall are tried and the best is marked as assumed."),
      field(`x (${name})`, x), field(`y (${name})`, y),
      el("button", { onclick: () => x.value && y.value && this.addEntry([Number(x.value) * metres, Number(y.value) * metres]) }, "Add the entry"),
    ];
  }

  addEntry(place) {
    const id = this.app.free(this.wallAt(place)), ops = [];
    if (this.app.lot.settings.exchanger?.entry === "any wall") ops.push({ op: "set", path: ["exchanger", "entry"], value: null });
    this.app.change([...ops, { op: "add", list: "entry", key: "at", points: [place], values: { id } }], "move", `entry ${id}`);
  }

  // The name of an entry is that of its wall, as the sheet prints it: ENTRY NORTH WALL.
  wallAt(place) {
    let best = { far: NEAR, name: "entry" };
    for (const { rings: [ring] } of this.app.lot.things.filter((each) => each.kind === "building" && each.is === "Polygon")) {
      for (let i = 1; i < ring.length; i++) {
        const far = apart(place, onLine(place, ring[i - 1], ring[i]));
        if (far < best.far) best = { far, name: `${facing(ring, i)} wall` };
      }
    }
    return best.name;
  }

  whyForm() {
    this.app.say("Tap a point: the rules answer.");
    this.list = null;
    const x = el("input", { inputmode: "decimal" }), y = el("input", { inputmode: "decimal" }), { name, metres } = this.app.lot.unit;
    this.reasons = el("div", { id: "why", "aria-live": "polite" });
    return [el("h2", {}, "Why not here?"), field(`x (${name})`, x), field(`y (${name})`, y), el("button", { onclick: () => this.why([Number(x.value) * metres, Number(y.value) * metres]) }, "Ask"), this.reasons];
  }

  async why(place) {
    this.points = [place];
    this.sketch();
    const { parts } = await act("why", { x: place[0], y: place[1] });
    const where = place.map((value) => length(value, this.app.lot)).join(", ");
    // parts that the same rules keep off are told in one breath
    const alike = new Map();
    for (const part of parts) {
      const because = part.because.map((each) => `${each.thing} is ${each.away} away: ${each.rule}`), key = JSON.stringify([part.may, because]);
      if (!alike.has(key)) alike.set(key, { names: [], may: part.may, because });
      alike.get(key).names.push(part.part);
    }
    put(this.reasons, el("p", {}, `At ${where} ${this.app.lot.unit.name}:`), [...alike.values()].map(({ names, may, because }) => el("div", {},
      el("strong", { class: may ? "good" : "bad" }, `${names.join(", ")}: ${may ? "may lie here" : "no"}`),
      may ? null : el("ul", {}, because.map((each) => el("li", {}, each))))));
  }
}
