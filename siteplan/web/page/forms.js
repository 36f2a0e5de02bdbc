// Numbers to be typed over: where a thing lies, what is known of it, what is wanted of the loop.
import { el, put, field, choice } from "./dom.js";

export const length = (metres, lot) => String(Number((metres / lot.unit.metres).toFixed(2)));

const SIDES = ["", "north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"];
export const TRENCHES = ["choose", "one pipe", "two pipes side by side", "two pipes stacked", "four pipes", "six pipes", "flat coil", "upright coil", "wide pit"];
const WANTED = [
  ["project.title", "Title"], ["project.owner", "Owner"], ["project.address", "Address"], ["project.parcel_id", "Parcel id"], ["project.prepared_by", "Prepared by"],
  ["exchanger.system", "Loop type", ["", "choose", "horizontal", "vertical", "pond", "open"]],
  ["exchanger.capacity", "Heat pump (screening only)", "4 ton"],
  ["exchanger.length.given", "Length given", "1100 ft"], ["exchanger.length.by", "by whom", "load calculation of ..."],
  ["loads.heating", "Heating", "36 MBH"], ["loads.heating_hours", "hours a year", "2000"], ["loads.cooling", "Cooling", "24 MBH"], ["loads.cooling_hours", "hours a year", "800"],
  ["ground.temperature", "Ground, deep", "52 F"], ["ground.swing", "Swing at the surface", "20 F"], ["ground.coldest_day", "Coldest day", "3 February"], ["ground.soil", "Soil", "heavy sand, 15 % water"], ["ground.frost", "Frost depth", "4 ft"],
  ["fluid.mixture", "Fluid", "propylene glycol 25 %"],
  ["horizontal.spacing", "Trench spacing", "10 ft"], ["horizontal.depth", "Trench depth", "5 ft"], ["horizontal.kind", "Kind of trench", ["", ...TRENCHES]],
  ["vertical.spacing", "Bore spacing", "20 ft"], ["vertical.depth.least", "Bore depth, least", "150 ft"], ["vertical.depth.most", "Bore depth, most", "300 ft"],
  ["open.yield", "Well yield", "12 gpm"],
  ["rules.books", "Rule books", "maine, irc-m2105"],
];

// A form drawn anew, with what somebody is typing there as far as it is typed.
export function keepTyping(where, draw) {
  const inputs = () => [...where.querySelectorAll("input, textarea, select")];
  const before = inputs(), at = before.indexOf(document.activeElement), old = before[at], title = where.querySelector("h2")?.textContent;
  draw();
  if (where.querySelector("h2")?.textContent !== title) return;
  const now = inputs()[at];
  if (!old || !now || now.type !== old.type || inputs().length !== before.length) return;
  if (old.value !== old.defaultValue && old.tagName !== "SELECT") now.value = old.value;
  now.focus();
}

// A number stays a number, a list a list; everything else is text with its unit.
function value(path, text) {
  const told = text.trim();
  if (!told) return null;
  if (path === "rules.books") return told.split(/[\s,]+/).filter(Boolean);
  return /^-?\d+(\.\d+)?$/.test(told) && /hours|count|pipes|cop|eer/.test(path) ? Number(told) : told;
}

export function settingsForm(app, where) {
  const stated = (path) => {
    let inner = app.lot.settings;
    for (const step of path.split(".")) inner = inner?.[step];
    return Array.isArray(inner) ? inner.join(", ") : inner === undefined || typeof inner === "object" ? "" : String(inner);
  };
  // what is being typed stays: the answer to the field before must not take it away
  if (where.firstChild) {
    for (const input of where.querySelectorAll("[data-path]")) if (input !== document.activeElement) input.value = stated(input.dataset.path);
    return;
  }
  put(where, WANTED.map(([path, words, example]) => {
    const change = (event) => app.change([{ op: "set", path: path.split("."), value: value(path, event.target.value) }]);
    const input = Array.isArray(example)
      ? choice(example.includes(stated(path)) ? example : [stated(path), ...example], stated(path), { onchange: change })
      : el("input", { value: stated(path), placeholder: example || "", onchange: change });
    input.dataset.path = path;
    return field(words, input);
  }));
}

export function thingForm(app) {
  const { selected, lot } = app;
  if (!selected) return app.tool === "move" && !lot.parcel ? [el("p", {}, "Begin with the property line.")] : [];
  if (selected === "parcel") return parcelForm(app);
  const entry = lot.entries.find((each) => `entry ${each.id}` === selected);
  const thing = entry ? { ...entry, kind: "entry", key: "at", points: entry.ref && !entry.taped ? [entry.at] : null } : lot.things.find((each) => each.id === selected);
  if (!thing) return [];
  if (!thing.ref) return [el("h2", {}, selected), el("p", {}, thing.assumed ? "Assumed: where the pipes may enter is not stated. Add an entry to state it." : "It comes with a file that is not changed here.")];
  const inFile = thing.ref.startsWith("file:"), inTable = !thing.ref.startsWith("short:");
  return [
    el("h2", {}, `${thing.id} (${thing.kind})`),
    thing.points ? corners(app, thing) : el("p", {}, thing.taped ? "Placed by a tape." : "Its shape is not changed here."),
    inTable && !(inFile && entry) && (thing.key === "at" || thing.kind === "entry") ? byTape(app, thing, inFile) : null,
    inTable && thing.says?.walls ? walls(app, thing) : null,
    inTable && !entry ? statements(app, thing) : null,
    el("div", { class: "row" }, el("button", { onclick: () => { app.corner = null; app.mover.remove(); } }, "Take it out"), el("button", { onclick: () => app.mover.choose(null) }, "Leave")),
  ];
}

function parcelForm(app) {
  const { parcel, closure, unit } = app.lot;
  if (!parcel) return [];
  const closes = closure ? el("p", {}, `The deed has ${closure.calls} calls, ${closure.perimeter} ${unit.name} in all; it misses by ${closure.miss} ${unit.name}${closure.ratio ? `, 1 in ${closure.ratio}` : ""} (1 in ${closure.limit} is asked).`) : null;
  return [el("h2", {}, "Property line"), closes, parcel.points ? corners(app, { ref: parcel.ref, key: "area", points: parcel.points }) : [el("p", {}, parcel.fixed), turning(app, parcel)]];
}

// A record is not dragged; whoever wants to says so first.
function turning(app, { turn, typed, unlocked }) {
  if (!turn) return null;
  return el("button", { onclick: () => {
    if (typed) app.change([{ op: "points", ref: "parcel", key: "area", points: typed }]);
    if (unlocked) { app.unlocked = true; app.show(); }
  } }, turn);
}

// A row of numbers for each point: typed over, it is moved.
function corners(app, thing) {
  const { name, metres } = app.lot.unit;
  const rows = thing.points.map((point, index) => el("div", { class: "row" },
    el("small", {}, thing.points.length > 1 ? String(index + 1) : "at"),
    [0, 1].map((axis) => el("input", {
      size: 8, inputmode: "decimal", "aria-label": `point ${index + 1}, ${axis ? "north" : "east"} (${name})`, value: length(point[axis], app.lot),
      onfocus: () => { if (app.corner !== index && thing.points.length > 1) { app.corner = index; app.mover.showHandles(); } },
      onchange: (event) => {
        const typed = Number(event.target.value);
        if (!Number.isFinite(typed)) { app.say("Write a number."); return; }
        const points = thing.points.map((each) => [...each]);
        points[index][axis] = typed * metres;
        app.change([{ op: "points", ref: thing.ref, key: thing.key, points }]);
      },
    }))));
  return el("div", {}, el("small", {}, `east and north (${name})`), rows);
}

function names(app) {
  const about = ["parcel", ...app.lot.things.filter((each) => each.is === "Polygon").map((each) => each.id)];
  const points = [...about.flatMap((id) => ["NE", "SE", "SW", "NW"].map((side) => `${id}:${side}`)), ...app.lot.things.filter((each) => each.is === "Point").map((each) => each.id)];
  const lines = [...about.flatMap((id) => ["north", "east", "south", "west"].map((side) => `${id}:${side}`)), ...app.lot.things.filter((each) => each.is === "LineString").map((each) => each.id)];
  return { points, lines };
}

const listed = (id, options) => el("datalist", { id }, options.map((option) => el("option", { value: option })));

// A point by two tapes, or along and off a wall or line; the numbers stay in the file as typed.
function byTape(app, thing, inFile) {
  const { points, lines } = names(app), told = thing.says?.at && !Array.isArray(thing.says.at) ? thing.says.at : {};
  const ties = told.ties || [["", ""], ["", ""]];
  const tie = ties.map(([from, long], index) => [el("input", { value: from, list: "tie-points", placeholder: "house:NE" }), el("input", { value: long, placeholder: "42 ft 6 in" }), index + 1]);
  const side = choice(SIDES, told.ties ? told.side || "" : "");
  const line = el("input", { value: told.line || "", list: "tie-lines", placeholder: "house:north" }), from = choice(SIDES, told.line ? told.from || "" : "");
  const station = el("input", { value: told.station || "", placeholder: "10 ft" }), off = el("input", { value: told.off || "", placeholder: "15 ft" });
  const offSide = choice(SIDES, told.line ? told.side || "" : "");
  const placed = (at) => app.change([{ op: "place", ref: thing.ref, key: "at", value: at }]);
  const filled = (values) => Object.fromEntries(Object.entries(values).filter(([, each]) => each));
  return el("div", {},
    inFile ? el("p", {}, "It lies in the lot's GeoJSON, which knows no tapes: placed by them it moves into the site file, and the tapes stay to be typed over.") : null,
    el("details", { open: Boolean(told.ties) }, el("summary", {}, "By two tapes"), listed("tie-points", points),
      tie.map(([name, long, number]) => [field(`Tape ${number} from`, name), field("length", long)]), field("The crossing to the", side),
      el("button", { onclick: () => placed(filled({ ties: tie.map(([name, long]) => [name.value, long.value]), side: side.value })) }, "Place by these tapes")),
    el("details", { open: Boolean(told.line) }, el("summary", {}, "Along and off a wall or line"), listed("tie-lines", lines),
      field("Wall or line", line), field("from its end in the", from), field("along", station), field("off", off), field("to the (of a line)", offSide),
      el("button", { onclick: () => placed(filled({ line: line.value, from: from.value, station: station.value, off: off.value, side: offSide.value })) }, "Place off the line")));
}

// Where the first wall begins and leads to, as they stand in the file; a corner placed by tapes is changed there.
function firstCorner(app, { ref, says: { corner, direction } }) {
  const place = (key, value) => app.change([{ op: "place", ref, key, value }]);
  const at = el("input", { value: Array.isArray(corner) ? corner.join(", ") : "", onchange: (event) => {
    const typed = event.target.value.split(/[\s,;]+/).filter(Boolean).map(Number);
    if (typed.length !== 2 || typed.some((each) => !Number.isFinite(each))) { app.say("Write a point: x, y."); return; }
    place("corner", typed);
  } });
  const leads = el("input", { value: direction ?? "", onchange: (event) => place("direction", event.target.value.trim()) });
  return [Array.isArray(corner) ? field("First corner, x, y", at) : null, field("First wall leads", leads)];
}

function walls(app, thing) {
  const text = el("input", { value: thing.says.walls.join(" "), onchange: (event) => {
    const parts = event.target.value.match(/[RL](\s*\d+(\.\d+)?(?!\s*(ft|m|in|'|\d|\.)))?|[^RL,]+/gi).map((part) => part.trim()).filter(Boolean);
    app.change([{ op: "place", ref: thing.ref, key: "walls", value: parts }]);
  } });
  return [firstCorner(app, thing), field("Walls", text)];
}

// What rules ask of a thing of this kind.
function statements(app, thing) {
  const keys = ["label", "use", "width", "clearance", "clearance_source"].filter((key) => key !== "use" || app.lot0.palette.find((each) => each.kind === thing.kind)?.uses.length);
  return el("details", {}, el("summary", {}, "What is known of it"), keys.map((key) => field(key.replace("_", " "), el("input", {
    value: thing.says?.[key] ?? "", onchange: (event) => app.change([{ op: "say", ref: thing.ref, key, value: event.target.value.trim() || null }]),
  }))));
}
