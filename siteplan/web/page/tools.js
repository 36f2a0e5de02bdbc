// Tools that draw something new: the property line, a house by its walls, what is on the lot, an entry.
import { el, put, field, choice, svg } from "./dom.js";
import { outline } from "./ground.js";
import { BY_HAND } from "./hand.js";
import { alongTheLine } from "./along.js";
import { apart, facing, onLine, overTheLine, snap } from "./snap.js";
import { act, sendFile } from "./server.js";
import { length } from "./forms.js";
import { sides } from "./measured.js";
import { leads, measures, wallsOf } from "./tape.js";

const USUAL = ["potable well", "building", "driveway", "septic tank", "drainfield", "reserve area", "tree", "street", "water line", "sewer line", "gas line", "electric line", "communication line", "overhead power line", "easement", "pond", "depth contour", "sounding", "shore entry", "wetland", "fuel tank"];
const PAVED = ["driveway"]; // what has a width that is seen, where it is drawn by its middle
const NEAR = 0.6; // metres: an entry so near to a wall is in it
const FEW = { at: 1, line: 2, area: 3 };
const SHAPES = { at: "as a point", line: "as a line", area: "as an area" };
const SIDES = "sides";
// What is let in, and where.
const COMES_IN = {
  pipes: { called: "the pipes, through a wall", hint: "Tap the wall where the pipes enter the building.", button: "Add the entry",
    words: "Where the pipes enter, at the wall. Where none is stated, places on every wall (the open diamonds) are tried and the best is marked as assumed." },
  rig: { called: "the drill rig, over the property line", hint: "Tap the property line where the rig comes in.", button: "Add the way in",
    words: "Where the rig comes in over the property line, in place of the street or driveway that is drawn." },
  excavator: { called: "the excavator, over the property line", hint: "Tap the property line where the excavator comes in.", button: "Add the way in",
    words: "Where the excavator comes in over the property line, in place of the street or driveway that is drawn." },
};
const POINTED = ["parcel", "add"]; // tools that draw point by point

// The button of a group of fields: Enter in one of them does the same.
const does = (words, onclick) => el("button", { class: "does", onclick }, words);
const group = (...parts) => el("div", { class: "group" }, parts);

const GENERAL = ["area", "zone", "ground"]; // words that alone name nothing
// What a thing is called on a sketch: the well, the tank; but the sewer, not the line, and the reserve area as a whole.
const called = (kind) => kind.endsWith(" entry") || GENERAL.includes(kind.split(" ").at(-1)) ? kind : kind.split(" ").filter((word) => word !== "line").at(-1);

// Walls as they are typed.
const example = ({ lot }) => lot.unit.name === "ft" ? "40 ft L 28 ft L 40 ft" : "12 m L 9 m L 12 m";

export class Tools {
  constructor(app) {
    this.app = app;
    this.points = [];
    this.kind = "potable well";
    this.shape = "at";
    this.squared = "building";
    this.enters = "pipes";
    this.drawn = svg("path", { class: "sketch open" });
    this.marks = svg("g", { class: "sketching" });
    app.board.over.append(this.marks);
    app.board.watchers.push(() => this.sketch());
  }

  begin(tool) {
    this.points = [];
    this.ahead = null;
    this.sketch();
    this.app.board.element.classList.toggle("drawing", tool !== "move");
    const forms = { parcel: () => this.parcelForm(), house: () => this.houseForm(), add: () => this.addForm(), entry: () => this.entryForm(), why: () => this.whyForm() };
    if (forms[tool]) put(this.app.form, forms[tool]());
  }

  // A tool, and what it takes up: a kind of thing, or a machine.
  take(tool, of) {
    if (tool === "entry") this.enters = of || "pipes";
    else if (of) { this.kind = of; this.shape = ""; }
    this.app.pick(tool);
  }

  get drawing() { return this.app.tool === "parcel" ? "area" : this.app.tool === "add" ? this.shape : "at"; }

  // --- points tapped on the board

  // Where a tap would lie, and whether something holds it there.
  near(event) {
    const { lot, board } = this.app, last = this.points.at(-1);
    return snap(board.ground(event), { lot, scale: board.scale, without: "", before: last ? [last, this.points.at(-2)] : [], after: [] });
  }

  // The side that the next tap would draw follows the mouse; `event`: none when that is gone.
  aim(event) {
    const drawing = event && this.app.tool !== "move";
    if (!drawing && !this.ahead) return null;
    this.ahead = drawing ? this.near(event) : null;
    this.sketch();
    return this.ahead?.[0];
  }

  tap(event) {
    const { board, tool } = this.app;
    const first = this.points[0], least = FEW[this.drawing], [place] = this.near(event);
    this.ahead = null;
    if (tool === "why") { this.why(place); return; }
    if (tool === "entry") { this.comesIn(place); return; }
    if (tool === "house") { this.corner = place; this.showCorner(); return; }
    const closes = first && this.points.length >= least && Math.hypot(...[0, 1].map((axis) => board.seen(place)[axis] - board.seen(first)[axis])) < 14;
    if (closes) { this.finish(); return; }
    this.points.push(place);
    this.sketch();
    if (this.drawing === "at") this.finish();
    else this.app.say(this.points.length < least ? `Point ${this.points.length + 1} of at least ${least}.` : this.drawing === "area" ? "Tap the next point; the first one again, Enter or Done closes it." : "Tap the next point; Enter or Done ends it.");
  }

  // Enter ends what is being drawn, Backspace and undo take back its last point.
  key({ key }) {
    if (!this.points.length || !POINTED.includes(this.app.tool)) return false;
    if (key === "Enter") { this.finish(); return true; }
    return key === "Backspace" && this.takeBack();
  }

  takeBack() {
    if (!this.points.length || !POINTED.includes(this.app.tool)) return false;
    this.points.pop();
    this.sketch();
    if (this.list && !this.points.length) this.list.value = "";
    this.app.say(this.points.length ? "The last point is taken back." : "Nothing is drawn yet.");
    return true;
  }

  sketch() {
    const { app, points } = this, { board } = app, [next, held] = this.ahead || [];
    const shown = next && points.length && POINTED.includes(app.tool) ? [...points, next] : points, spots = points.map((point) => board.seen(point));
    put(this.marks, sides(app, shown, false), spots.map(([x, y]) => svg("circle", { class: "spot", cx: x, cy: y, r: 4 })),
      held ? svg("circle", { class: "snapped", cx: board.seen(next)[0], cy: board.seen(next)[1], r: 10 }) : null);
    if (!shown.length) { this.drawn.remove(); return; }
    this.drawn.setAttribute("d", outline([shown], false));
    if (!this.drawn.isConnected) board.world.append(this.drawn);
    if (this.list && points.length) this.list.value = points.map((point) => point.map((value) => length(value, app.lot)).join(", ")).join("\n");
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
    this.list = words === "Place" ? el("input", { placeholder: "100, 150" }) : el("textarea", { rows: 5, placeholder: "0, 0\n100, 0\n100, 150" });
    return [field(`${words} (${this.app.lot.unit.name})`, this.list), el("div", { class: "row" }, does("Done", () => this.list.value.trim() ? this.typed() : this.finish()), el("button", { onclick: () => this.app.pick("move") }, "Cancel"))];
  }

  // --- the property line

  parcelForm() {
    this.app.say("Tap the corners of the lot one after the other.");
    const { app } = this, deed = el("textarea", { rows: 5, placeholder: "Beginning at an iron pin, thence N 45°30' E 123.45 feet, ...\nor a call on each line: N 45 30 E 123.45" });
    deed.value = app.lot.deed;
    const file = el("input", { type: "file" }), where = el("input", { placeholder: "PARCEL_ID = 12-034" }), spot = el("input", { placeholder: "-71.4,42.6" });
    return [
      el("h2", {}, "Property line"),
      el("p", {}, "Tap its corners on the board, or type them: x to the east, y to the north of the south-west corner. Of a side that is curved take a point every few steps: the sheet tells it as a curve."),
      this.typing("Corners"),
      el("h2", {}, "From a deed"),
      field("Its text", deed),
      el("button", { onclick: () => this.drawDeed(deed.value) }, "Draw the deed"),
      el("h2", {}, "From a file"),
      el("p", {}, "County parcels or a survey: GeoJSON, GeoPackage, Shapefile as a zip, KML, DXF."),
      group(field("File", file), field("Which lot, by a column", where), field("or by a point", spot),
        does("Take the lot", () => file.files[0] ? app.run(() => sendFile(file.files[0], { digest: app.lot.digest, where: where.value, at: spot.value }), "move") : app.say("Choose a file."))),
    ];
  }

  // One that does not close stays to be mended; of one that does, how well is shown.
  drawDeed(text) {
    const { app } = this;
    if (!text.trim()) { app.say("Paste the text of the deed."); return; }
    app.selected = "parcel";
    app.run(() => act("deed", { digest: app.lot.digest, text }), "move", () => !app.lot.closure).then(() => {
      const faults = app.lot.faults.filter(({ within }) => within.startsWith("geometry.deed"));
      if (!app.lot.closure && faults.length) app.notice(faults.map(({ what, mend }) => `The deed ${what} ${mend}`).join(" "));
    });
  }

  // --- a house by its walls

  houseForm() {
    this.app.say("Tap where the first wall begins, then type the walls.");
    const unit = this.app.lot.unit.name;
    this.measured = this.app.lot.parcel ? measures(this.app, null) : null;
    this.cornerX = el("input", { inputmode: "decimal" });
    this.cornerY = el("input", { inputmode: "decimal" });
    const direction = leads(this.app, this.led || "east"), walls = el("input", { placeholder: example(this.app) });
    const calling = (kind) => this.app.free(kind === "building" ? "house" : called(kind)), name = el("input", { value: calling(this.squared) });
    const squared = this.app.lot0.palette.filter((each) => each.shapes.includes("area") && !each.of).map((each) => each.kind);
    const kind = choice([...USUAL.filter((each) => squared.includes(each)), ...squared.filter((each) => !USUAL.includes(each))], this.squared, { onchange: (event) => { name.value = calling(event.target.value); } });
    this.squared = "building";
    return group(
      el("h2", {}, "House by its walls"),
      el("p", {}, "A house, and whatever else has sides: a tank, a drainfield. Go round it as with a tape, from the corner given: a length, R for a right turn or L for a left one, the next length. Corners are square; the last wall may be left out. 40 x 28 is a rectangle. R 45 turns by 45 degrees."),
      field("Kind", kind), field(`First corner, x (${unit})`, this.cornerX), field(`and y (${unit})`, this.cornerY),
      this.measured ? el("details", {}, el("summary", {}, "or the corner as it is measured"), this.measured) : null,
      direction.rows, field("Walls", walls), field("Name", name),
      does("Draw it", () => this.addHouse(direction.read(), walls.value, name.value, kind.value)),
    );
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
    if (typed.some((value) => !Number.isFinite(value))) { this.app.say("Write x and y as numbers, such as 9.5."); return; }
    if (!corner) { this.app.say("Say where the first corner is."); return; }
    if (!told.some((each) => /^[RL]/i.test(each))) { this.app.say(`Say how long the walls are, and which way they turn, such as ${example(this.app)}.`); return; }
    this.points = [];
    this.led = direction; // what is drawn next mostly lies the same way
    this.sketch();
    this.app.change([{ op: "add", list: "feature", values: { id: name, kind, label: name.toUpperCase(), walls: told, corner, direction } }], "move", name);
  }

  // --- what is on the lot

  addForm() {
    const { palette } = this.app.lot0, names = palette.map((each) => each.kind);
    const sorted = [...USUAL.filter((name) => names.includes(name)), ...Object.keys(BY_HAND), ...names.filter((name) => !USUAL.includes(name))];
    if (!sorted.includes(this.kind)) this.kind = sorted[0];
    const rest = el("div"), refresh = () => { this.points = []; this.sketch(); put(rest, BY_HAND[this.kind] ? this.handRest(BY_HAND[this.kind]) : this.addRest(palette, refresh)); };
    refresh();
    // in the list with what else it is called; in its box, which is narrow, alone, and the rest under it
    const also = (name) => palette.find((each) => each.kind === name)?.also ?? [], others = el("small");
    const kinds = choice(sorted.map((name) => [name, ""]), this.kind, { id: "kind", onchange: (event) => { this.kind = event.target.value; this.shape = ""; spell(); refresh(); } });
    const spell = () => {
      for (const each of kinds.options) each.textContent = [each.value, ...(each.selected ? [] : also(each.value))].join(", ");
      others.textContent = also(kinds.value).length ? `also: ${also(kinds.value).join(", ")}` : "";
    };
    spell();
    return [el("h2", {}, "Add what is on the lot"), field("Kind", kinds), others, rest];
  }

  // Of the loop itself: all of its kind then lie where a hand has put them, and each is checked.
  handRest({ shape, hint, as }) {
    this.shape = shape;
    this.app.say(hint);
    return group(el("p", {}, as ? "Part of the loop, not of the lot. It stands where you tap and is checked there; the plan finds a place for the other, where that is not given as well." : "Part of the loop, not of the lot. What the plan has laid out of its kind stays where it is, given by hand as well; each is checked, and nothing looks for better places."), this.typing(shape === "at" ? "Place" : "Points"));
  }

  addRest(palette, refresh) {
    const { shapes, asks, of, later } = palette.find((each) => each.kind === this.kind), ways = shapes.map((key) => [key, SHAPES[key]]);
    if (!shapes.includes(this.shape)) this.shape = PAVED.includes(this.kind) ? "line" : shapes[0];
    if (shapes.includes("area") && !of) ways.push([SIDES, "by its sides, as taped"]);
    const bySides = () => { this.squared = this.kind; this.app.pick("house"); };
    const drawn = choice(ways, this.shape, { onchange: (event) => {
      if (event.target.value === SIDES) bySides();
      else { this.shape = event.target.value; refresh(); }
    } });
    this.called = el("input", { value: this.app.free(called(this.kind)) });
    this.app.say(this.shape === "at" ? `Tap where the ${this.kind} is.` : `Tap the points of the ${this.kind}.`);
    this.goesOn = PAVED.includes(this.kind) && this.shape === "line" ? choice([["on", "it goes on to the street"], ["", "it ends there"]], "on") : null;
    this.width = this.shape === "line" ? el("input", { placeholder: this.app.lot.unit.name === "ft" ? "12 ft" : "4 m" }) : null;
    // what has to be known of it at once, and of which pond it is where there are several
    this.known = asks ? { key: asks.key, of: asks.called, later, input: el("input", { placeholder: this.app.lot.unit.name === "ft" ? "6 ft" : "2 m" }) } : null;
    const owners = of ? this.app.lot.things.filter((each) => each.kind === of).map((each) => each.id) : [];
    this.owner = owners.length > 1 ? choice(owners, owners[0]) : null;
    if (of && !owners.length) this.app.say(`Draw the ${of} first.`);
    return [group(field("Drawn", drawn), field("Name", this.called), this.known ? field(later ? `${asks.called}, where one is known` : asks.called, this.known.input) : [], this.owner ? field(`Of which ${of}`, this.owner) : [], this.width ? field(PAVED.includes(this.kind) ? "How wide" : "Width, where it has one", this.width) : [], this.goesOn ? field("At the property line", this.goesOn) : [], this.typing(this.shape === "at" ? "Place" : "Points")),
      this.app.lot.parcel && !of ? alongTheLine(this.app, this.kind, this.shape, (points) => this.addThing(points)) : null,
      shapes.includes("area") && !of ? el("p", {}, "Or as it is measured: ", el("button", { onclick: bySides }, "By its sides")) : null,
      this.shape === "at" && this.app.lot.parcel ? [el("p", {}, shapes.includes("area") ? "Or its middle as it is measured:" : "Or as it is measured:"), measures(this.app, null, (at) => this.addMeasured(at))] : null];
  }

  // What a new thing is called; on the sheet too, where somebody has named it.
  named() {
    const usual = this.app.free(called(this.kind)), id = this.called.value.trim() || this.app.free(this.kind);
    return { id, kind: this.kind, ...(id === usual ? {} : { label: id.toUpperCase() }) };
  }

  // What has to be known of it besides; nothing where that is not yet typed.
  asked(points = null) {
    const { known, owner } = this, depth = known?.input.value.trim();
    if (known && !depth && !known.later) {
      this.points = points || [];
      this.sketch();
      this.app.say(`Say the ${known.of.toLowerCase()}, then Done.`);
      known.input.focus();
      return null;
    }
    return { ...(depth ? { [known.key]: Number.isFinite(Number(depth)) ? Number(depth) : depth } : {}), ...(owner ? { pond: owner.value } : {}) };
  }

  addMeasured(at) {
    const known = this.asked();
    if (!known) return;
    const values = { ...this.named(), ...known, at };
    this.app.change([{ op: "add", list: "feature", values }], "move", values.id);
  }

  addThing(points) {
    const hand = BY_HAND[this.kind];
    if (hand) { this.app.change([{ op: "laid", kind: hand.kind, id: hand.as ?? "", alone: Boolean(hand.as), points }], ...(hand.as ? ["move", `${hand.kind} ${hand.as}`] : [])); this.app.say(hand.hint); return; }
    if (PAVED.includes(this.kind) && this.width && !this.width.value.trim()) {
      // as a line alone it would be a hair's breadth, and every distance measured from its middle
      this.points = points;
      this.sketch();
      this.app.say(`Say how wide the ${this.kind} is, then Done.`);
      this.width.focus();
      return;
    }
    const known = this.asked(points);
    if (!known) return;
    if (this.goesOn?.value) points = overTheLine(points, this.app.lot.parcel?.rings[0]);
    const values = { ...this.named(), ...known, ...(this.width?.value.trim() ? { width: this.width.value.trim() } : {}) };
    this.app.change([{ op: "add", list: "feature", key: this.shape, points, values }], "move", values.id);
  }

  // --- the entry, and why not here

  // What is done with a place that is typed, once both fields hold a number.
  typedPlace(x, y, does) {
    const place = [x, y].map(({ value }) => value.trim() ? Number(value) * this.app.lot.unit.metres : NaN);
    if (place.every(Number.isFinite)) does(place);
    else this.app.say("Write x and y as numbers.");
  }

  entryForm() {
    const rest = el("div"), refresh = () => put(rest, this.entryRest());
    this.list = null;
    refresh();
    return [el("h2", {}, "What comes in where"), field("What", choice(Object.entries(COMES_IN).map(([what, { called }]) => [what, called]), this.enters, { onchange: (event) => { this.enters = event.target.value; refresh(); } }), "wide-words"), rest];
  }

  entryRest() {
    const { hint, words, button } = COMES_IN[this.enters], { name } = this.app.lot.unit;
    const x = el("input", { inputmode: "decimal" }), y = el("input", { inputmode: "decimal" });
    this.app.say(hint);
    return group(el("p", {}, words), field(`x (${name})`, x), field(`y (${name})`, y), does(button, () => this.typedPlace(x, y, (place) => this.comesIn(place))));
  }

  comesIn(place) {
    if (this.enters === "pipes") { this.addEntry(place); return; }
    const ring = this.app.lot.parcel?.rings[0];
    if (!ring) { this.app.say("Draw the property line first."); return; }
    // on the property line, wherever it was tapped: there the machine leaves the street
    const spots = ring.slice(1).map((end, at) => onLine(place, ring[at], end));
    const nearest = spots.reduce((best, spot) => apart(place, spot) < apart(place, best) ? spot : best);
    this.app.change([{ op: "way in", machine: this.enters, points: [nearest] }], "move");
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
    const x = el("input", { inputmode: "decimal" }), y = el("input", { inputmode: "decimal" }), { name } = this.app.lot.unit;
    this.reasons = el("div", { id: "why", "aria-live": "polite" });
    return [group(el("h2", {}, "Why not here?"), field(`x (${name})`, x), field(`y (${name})`, y), does("Ask", () => this.typedPlace(x, y, (place) => this.why(place)))), this.reasons];
  }

  async why(place) {
    this.points = [place];
    this.sketch();
    let parts;
    try { ({ parts } = await act("why", { x: place[0], y: place[1] })); } catch (error) { this.app.notice(error.message); return; }
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
