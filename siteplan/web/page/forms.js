// Numbers to be typed over: where a thing lies, what is known of it, what is wanted of the loop.
import { el, put, field, choice, at } from "./dom.js";
import { act } from "./server.js";
import { laid, laidForm } from "./hand.js";
import { placed } from "./move.js";
import { ownRules } from "./rules.js";
import { leads, listed, measures, wallsOf } from "./tape.js";

export const length = (metres, lot) => String(Number((metres / lot.unit.metres).toFixed(2)));

const AT = ["at", "ties", "offset"]; // what places a point
// A form drawn anew, with what somebody is typing there as far as it is typed.
export function keepTyping(where, draw) {
  const inputs = () => [...where.querySelectorAll("input, textarea, select")];
  const before = inputs(), at = before.indexOf(document.activeElement), old = before[at], title = where.querySelector("h2")?.textContent;
  draw();
  if (where.querySelector("h2")?.textContent !== title) { where.parentElement.scrollTop = 0; return; }
  const now = inputs()[at];
  if (!old || !now || now.type !== old.type || inputs().length !== before.length) return;
  if (old.value !== old.defaultValue && old.tagName !== "SELECT") now.value = old.value;
  now.focus();
}

// What stands at a place of the site file, as it is typed; empty where nothing does.
export function stated(app, path) {
  let inner = app.lot.settings;
  for (const step of path.split(".")) inner = inner?.[step];
  return Array.isArray(inner) ? inner.join(", ") : inner === undefined || typeof inner === "object" ? "" : String(inner);
}

// The field called so: its name comes from the server, as messages have it too.
export const fieldOf = (app, path) => app.lot0.fields.find((each) => each.path === path);

// A number where the file wants one, else the words.
const told = (text, number) => number && Number.isFinite(Number(text)) ? Number(text) : text;

function state(app, { path, number, many }, text) {
  const typed = text.trim(), parts = typed.split(",").map((part) => part.trim()).filter(Boolean);
  const value = !typed ? null : many && (parts.length > 1 || !/^cheapest$/i.test(typed)) ? parts.map((part) => told(part, true)) : told(typed, number);
  app.change([{ op: "set", path: path.split("."), value }]);
}

function settingsField(app, each) {
  const { path, called, example, metric, choices, date } = each, now = stated(app, path), change = (event) => state(app, each, event.target.value);
  // a list that leaves nothing open is chosen from; one that proposes may be typed over
  const closed = choices && choices[0] === "";
  const input = closed ? choice(choices.includes(now) ? choices : [now, ...choices], now, { onchange: change })
    : el("input", { type: date ? "date" : "text", value: now, placeholder: app.lot.unit.name === "ft" ? example : metric, onchange: change, list: choices ? `choices-${path}` : null });
  input.dataset.path = path;
  return [field(called, input), choices && !closed ? listed(`choices-${path}`, choices) : null];
}

export function settingsForm(app, where) {
  const { fields, more } = app.lot0;
  // what is being typed stays: the answer to the field before must not take it away
  if (where.firstChild) {
    for (const input of where.querySelectorAll("[data-path]")) if (input !== document.activeElement) input.value = stated(app, input.dataset.path);
    for (const box of where.querySelectorAll(".refreshed")) box.refresh();
    tellFaults(app, where);
    return;
  }
  const others = refreshed(() => more.filter((each) => stated(app, each.path)).map((each) => settingsField(app, each)));
  put(where, fields.map((each) => [each.under ? el("h3", {}, each.under) : null, each.path === BOOKS ? [books(app), ownRules(app)] : settingsField(app, each)]), others, another(app, more));
}

// What is not understood of a field is told beside it.
function tellFaults(app, where) {
  for (const input of where.querySelectorAll("[data-path]")) {
    const fault = app.lot.faults.find(({ path }) => path === input.dataset.path && input.value.trim()), row = input.closest(".field");
    row.querySelector("small.bad")?.remove();
    input.setAttribute("aria-invalid", String(Boolean(fault)));
    if (fault) row.append(el("small", { class: "bad" }, `${fault.what} ${fault.mend}`));
  }
}

const BOOKS = "rules.books";

function refreshed(fill) {
  const box = el("div", { class: "refreshed" });
  box.refresh = () => { if (!box.contains(document.activeElement) || document.activeElement.tagName === "BUTTON") put(box, fill()); };
  box.refresh();
  return box;
}

// Rule books by their titles: those that hold, each to be left out, and one more from the list.
function books(app) {
  const { called } = fieldOf(app, BOOKS), now = () => stated(app, BOOKS).split(", ").filter(Boolean);
  const set = (next) => app.change(() => [{ op: "set", path: ["rules", "books"], value: next(now()) }]); // of what holds by then
  const list = el("select", { onchange: () => { const { value } = list; if (value) set((held) => [...held, value]); list.value = ""; } });
  const fill = () => put(list, el("option", { value: "" }, "add one ..."), (app.books || []).filter(([id]) => !now().includes(id)).map(([id, title]) => el("option", { value: id }, title ? `${title} (${id})` : id)));
  const load = async () => { app.books ??= (await act("books")).books; fill(); };
  at("wanted").addEventListener("toggle", load, { once: true });
  const held = refreshed(() => { fill(); return now().length ? now().map((id) => el("div", { class: "row" }, el("span", {}, app.books?.find(([each]) => each === id)?.[1] || id), el("button", { "aria-label": `Leave out ${id}`, onclick: () => set((held) => held.filter((each) => each !== id)) }, "Leave out"))) : el("small", {}, "common practice alone"); });
  return [field(called, list), held];
}

// Whatever else a site file may say, by its name and what it is for.
function another(app, more) {
  const name = el("input", { id: "other", list: "choices-more", placeholder: "type a word: grout, rig, frost ..." }), value = el("input", { id: "other-is", list: "choices-other" }), help = el("small", {}), words = listed("choices-other", []);
  const meant = () => more.find((each) => each.called === name.value.trim());
  name.addEventListener("input", () => {
    help.textContent = meant()?.help || "";
    value.placeholder = meant()?.example || "";
    put(words, (meant()?.choices || []).map((option) => el("option", { value: option })));
  });
  return el("details", { id: "more" }, el("summary", {}, "Anything else"), listed("choices-more", more.map((each) => each.called)), field("What", name), help, field("is", value), words,
    el("button", { onclick: () => { const each = meant(); if (each && value.value.trim()) { state(app, each, value.value); value.value = ""; } else app.say(each ? "Say what it is." : "Choose what it is from the list."); } }, "State it"));
}

// The field for what is stated by its name, with that name in it.
export function nameOther(app, path) {
  const each = app.lot0.more.find((option) => option.path === path), name = at("other");
  at("more").open = true;
  if (!each) return name;
  name.value = each.called;
  name.dispatchEvent(new Event("input"));
  return at("other-is");
}

export function thingForm(app) {
  const { selected, lot } = app;
  if (!selected) return app.tool === "move" && !lot.parcel ? [el("p", {}, "Begin with the property line.")] : [];
  if (selected === "parcel") return parcelForm(app);
  const placed = laid(app, selected);
  if (placed) return laidForm(app, placed, corners(app, placed), leave(app));
  const entry = lot.entries.find((each) => `entry ${each.id}` === selected);
  const way = lot.ways.find((each) => each.id === selected);
  if (way) return [el("h2", {}, way.id), el("p", {}, `The ${way.machine} comes in here over the property line, and nowhere else but at places stated so.`), corners(app, { ref: way.ref, key: "at", points: [way.at] }), leave(app)];
  const thing = entry ? { ...entry, kind: "entry", key: "at", points: entry.ref && !entry.taped ? [entry.at] : null } : lot.things.find((each) => each.id === selected);
  if (!thing) return [];
  if (!thing.ref) return [el("h2", {}, selected), el("p", {}, thing.assumed ? "Assumed: where the pipes may enter is not stated. Add an entry to state it." : "It comes with a file that is not changed here.")];
  const inFile = thing.ref.startsWith("file:"), inTable = !thing.ref.startsWith("short:");
  return [
    el("h2", {}, thing.id.includes(thing.kind) ? thing.id : `${thing.id} (${thing.kind})`),
    thing.points ? corners(app, thing) : el("p", {}, howPlaced(thing)),
    !thing.points && thing.taped && inTable && !entry ? loosen(app, thing) : null,
    inTable && !(inFile && entry) && (AT.includes(thing.key) || thing.kind === "entry") ? byTape(app, thing, inFile) : null,
    inTable && thing.says?.walls ? walls(app, thing) : null,
    inTable && !entry ? statements(app, thing) : null,
    leave(app),
  ];
}

const leave = (app) => el("div", { class: "row" }, el("button", { onclick: () => { app.corner = null; app.mover.remove(); } }, "Take it out"), el("button", { onclick: () => app.mover.choose(null) }, "Close"));

function howPlaced({ taped, says }) {
  if (!taped) return "Its shape is not changed here.";
  if (!says?.walls) return "Placed by a tape: type it over.";
  return Array.isArray(says.corner) ? "It goes by its walls: drag it as a whole, or type them over." : "It goes by its walls, from a corner that is placed by a tape: type them over.";
}

// Coordinates in the place of tapes: what goes by them can be dragged.
function loosen(app, { ref, key, is, says, rings }) {
  const ops = AT.includes(key) && is === "Point" ? [{ op: "points", ref, key: "at", points: rings[0] }]
    : says?.walls && !Array.isArray(says.corner) ? [{ op: "corner", ref, at: rings[0][0] }] : null;
  return ops ? el("button", { onclick: () => app.change(ops) }, "Go by coordinates instead") : null;
}

function parcelForm(app) {
  const { parcel, closure, unit } = app.lot;
  if (!parcel) return [];
  const closes = closure ? el("p", {}, `The deed has ${closure.calls} calls, ${closure.perimeter} ${unit.name} in all; it misses by ${closure.miss}${closure.ratio ? `, 1 in ${closure.ratio}` : ""} (1 in ${closure.limit} is asked).`) : null;
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
        app.change([placed(thing, points)]);
      },
    }))));
  return el("div", {}, el("small", {}, `east and north (${name})`), rows);
}

// A point that is measured; the numbers stay in the file as typed.
function byTape(app, { ref, says = {} }, inFile) {
  const told = says.ties ? { ties: says.ties, side: says.side } : says.offset || (Array.isArray(says.at) ? {} : says.at) || {};
  return el("div", {},
    inFile ? el("p", {}, "It lies in the lot's GeoJSON, which knows no tapes: placed by them it moves into the site file, and the tapes stay to be typed over.") : null,
    measures(app, told, (value) => app.change([{ op: "place", ref, key: "at", value }])));
}

// Where the first wall begins and leads to, as they stand in the file; a corner placed by tapes is changed there.
function firstCorner(app, { ref, says: { corner, direction } }) {
  const place = (key, value) => app.change([{ op: "place", ref, key, value }]);
  const at = el("input", { value: Array.isArray(corner) ? corner.join(", ") : "", onchange: (event) => {
    const typed = event.target.value.split(/[\s,;]+/).filter(Boolean).map(Number);
    if (typed.length !== 2 || typed.some((each) => !Number.isFinite(each))) { app.say("Write a point: x, y."); return; }
    place("corner", typed);
  } });
  return [Array.isArray(corner) ? field("First corner, x, y", at) : measures(app, corner || {}, (value) => place("corner", value)), leads(app, direction ?? "", (told) => place("direction", told)).rows];
}

function walls(app, thing) {
  const text = el("input", { value: thing.says.walls.join(" "), onchange: (event) => {
    app.change([{ op: "place", ref: thing.ref, key: "walls", value: wallsOf(event.target.value) }]);
  } });
  return [firstCorner(app, thing), field("Walls", text)];
}

// What rules ask of a thing of this kind, and what its form tells.
function statements(app, thing) {
  const { uses = [], says = [] } = app.lot0.palette.find((each) => each.kind === thing.kind) || {}, now = thing.says?.use ?? "";
  const say = (key, number) => ({ onchange: (event) => { const typed = event.target.value.trim(); app.change([{ op: "say", ref: thing.ref, key, value: typed ? told(typed, number) : null }]); } });
  const fits = ({ key }) => key === "width" ? thing.is.endsWith("LineString") : key !== "diameter" || thing.key === "at";
  return el("details", {}, el("summary", {}, "What is known of it"),
    uses.length ? field("Use", choice([["", "not said"], ...uses, ...(now && !uses.includes(now) ? [now] : [])], now, say("use"))) : null,
    says.filter(fits).map(({ key, called, example, choices, help, number }) => field(called, el("input", { "data-key": key, value: thing.says?.[key] ?? "", placeholder: example, title: help, list: choices && `choices-${key}`, ...say(key, number) }))),
    says.filter((each) => each.choices && fits(each)).map(({ key, choices }) => listed(`choices-${key}`, choices)));
}
