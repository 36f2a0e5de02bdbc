// Variants side by side: one thing changed in each, none of them the lot until it is taken.
import { el, put, at, svg, table, choice } from "./dom.js";
import { act } from "./server.js";
import { Drawing } from "./drawing.js";
import { Board } from "./board.js";
import { length, fieldOf, stated } from "./forms.js";
import { facing } from "./snap.js";

const MOST = 4, MOST_LETTERS = 55;
const brief = (words) => words.length > MOST_LETTERS ? `${words.slice(0, words.lastIndexOf(" ", MOST_LETTERS))} ...` : words;
const set = (path) => (value) => [{ op: "set", path: path.split("."), value }];
const typed = (example, ops) => () => ({ input: el("input", { placeholder: example }), ops });
const KNOBS = {
  "bore spacing": typed("15 ft", set("vertical.spacing")),
  "deepest bore": typed("400 ft", set("vertical.depth.most")),
  "inclined bores, tilt": typed("20 deg", set("vertical.pad.tilt")),
  "trench spacing": typed("8 ft", set("horizontal.spacing")),
  "trench depth": typed("6 ft", set("horizontal.depth")),
  "kind of trench": (app) => chosen(fieldOf(app, "horizontal.kind").choices.filter(Boolean), set("horizontal.kind")),
  "loop type": (app) => chosen(fieldOf(app, "exchanger.system").choices.filter(Boolean), set("exchanger.system")),
  "entry": entries,
  "rule books": books,
  "price list": prices,
  "fluid": typed("methanol 15 %", set("fluid.mixture")),
  "width of the rig": typed("6 ft", set("rig.width")),
};

const chosen = (options, ops) => ({ input: choice(options, options[0]), ops });

// One more, one less, or another alone; by their titles.
function books(app) {
  const now = stated(app, "rules.books").split(", ").filter(Boolean), ways = new Map(now.length ? [["common practice alone", []]] : []);
  const titled = ([id, title]) => title ? `${title} (${id})` : id;
  for (const id of now) ways.set(`without ${id}`, now.filter((each) => each !== id));
  for (const book of (app.books || []).filter(([id]) => !now.includes(id))) ways.set(`${now.length ? "with " : ""}${titled(book)}${now.length ? " too" : ""}`, [...now, book[0]]);
  if (now.length) for (const book of app.books || []) ways.set(`${titled(book)} alone`, [book[0]]);
  return chosen([...ways.keys()], (name) => set("rules.books")(ways.get(name)));
}

// At any wall, at one of those stated, or in the middle of a wall of a building.
function entries(app) {
  const { lot } = app, alone = (point) => [{ op: "any wall" }, { op: "set", path: ["exchanger", "entry"], value: null }, { op: "add", list: "entry", key: "at", points: [point], values: { id: "entry" } }];
  const ways = new Map([["at any wall", [{ op: "any wall" }]]]);
  for (const entry of lot.entries.filter((each) => !each.assumed)) ways.set(`at ${entry.id} alone`, alone(entry.at));
  for (const house of lot.things.filter((each) => each.kind === "building" && each.is === "Polygon")) {
    const ring = house.rings[0];
    for (let i = 1; i < ring.length; i++) {
      const [x, y] = ring[i - 1], [toX, toY] = ring[i], long = Math.hypot(toX - x, toY - y);
      if (long >= 2) ways.set(`${house.id}, ${facing(ring, i)} wall of ${length(long, lot)} ${lot.unit.name}, in its middle`, alone([(x + toX) / 2, (y + toY) / 2]));
    }
  }
  return chosen([...ways.keys()], (name) => ways.get(name));
}

// A list beside the site file, one from elsewhere, or none: no price ships.
function prices(app) {
  const file = el("input", { type: "file", "aria-label": "Price list from elsewhere" }), none = "no prices", other = "a file from elsewhere:";
  const list = choice([...app.lot.price_lists, other, none], app.lot.price_lists[0] || other, { "aria-label": "Price list" });
  return { input: el("span", { class: "row" }, list, file), ops: async () => {
    if (list.value === none) return [{ op: "prices" }];
    if (list.value !== other) return [{ op: "prices", file: list.value }];
    return file.files[0] ? [{ op: "prices", text: await file.files[0].text() }] : null;
  } };
}

export async function showVariants(app) {
  app.books ??= (await act("books")).books;
  const name = el("input", { placeholder: "as it is changed" });
  const what = choice(["nothing: the lot as it is", ...Object.keys(KNOBS)], Object.keys(KNOBS)[0], { "aria-label": "What is changed" }), where = el("span", { class: "knob" });
  let knob = null;
  const show = () => { knob = KNOBS[what.value]?.(app) ?? null; knob?.input.setAttribute?.("aria-label", "to"); put(where, knob ? [" to ", knob.input] : []); };
  what.addEventListener("change", show);
  show();
  const add = async () => {
    const value = (knob?.input.value ?? "").trim(), ops = knob ? await knob.ops(value) : [];
    if (!ops || (knob && knob.input.tagName === "INPUT" && !value)) { app.notice("Say what it is changed to."); return; }
    const words = knob ? `${what.value} ${value}` : "the lot as it is", called = free(app.variants, name.value.trim() || brief(words));
    name.value = "";
    run(app, { what: "add", name: called, ops });
  };
  put(at("variants"),
    el("h2", {}, "What if"),
    el("div", { class: "row" }, el("label", {}, "Name ", name), el("label", {}, "change ", what), where, el("button", { id: "keep", onclick: add }, "Keep beside"), el("small", {}, "Up to four; nothing is changed until you take one.")),
    el("div", { id: "kept", class: "variants" }));
  await listVariants(app);
}

// Those that are kept, told anew; what is being typed for the next one stays.
export async function listVariants(app, told = null) {
  app.variants = (told || await act("variant", { what: "list" })).variants;
  if (!at("kept")) return;
  at("keep").disabled = app.variants.length >= MOST;
  put(at("kept"), asItIs(app), app.variants.map((each) => variant(app, each)));
  for (const box of at("kept").querySelectorAll("svg.picture")) box.begin?.();
}

// What the others are compared with: the lot as it is now, and what to do as long as nothing is kept beside it.
function asItIs(app) {
  const { plan } = app.lot.stages, box = picture("the lot as it is");
  if (plan?.laid) box.begin = () => miniature(app, box, plan, app.lot);
  return [el("div", { class: "now" }, el("h2", {}, "The lot as it is"), plan ? planned(box, plan) : el("p", { role: "status" }, at("verdict").textContent)),
    app.variants.length ? null : el("p", {}, "To compare it with another spacing, depth, loop type or entry, choose above what is changed, say to what, and keep that beside: it is planned on its own, with its picture and its figures. Take the one that you want; the lot stays as it is until then.")];
}

const run = (app, asked) => app.run(async () => {
  const back = await act("variant", { digest: app.lot.digest, ...asked });
  if (!back.variants) return back;
  listVariants(app, back);
  return null;
});

function free(variants, words) {
  const taken = (name) => variants.some((each) => each.name === name);
  let number = 1;
  while (taken(number > 1 ? `${words} (${number})` : words)) number++;
  return number > 1 ? `${words} (${number})` : words;
}

const picture = (name) => svg("svg", { class: "picture", role: "img", "aria-label": `Plan of ${name}` });

const planned = (box, plan) => [box, el("p", { class: plan.fits ? "good" : "bad" }, plan.verdict), table(["loop type", "needs", "holds"], plan.trials.map((trial) => [`${trial.system}: ${trial.fits ? "fits" : "no"}`, trial.needs, trial.holds])),
  plan.lines.length ? table(["", ...plan.heads], plan.lines) : null];

// What taking it means, where the lot was changed since it was kept.
const SINCE = { true: "The lot was changed since. Taken is this change alone, on the lot as it is now.", false: "The lot was changed since. This is the lot as it was, and taking it takes that back." };

function variant(app, { name, plan, lot, changes, old }) {
  const box = picture(name);
  if (plan?.laid) box.begin = () => miniature(app, box, plan, lot || app.lot);
  return el("div", { class: "variant" }, el("h2", {}, name), old ? el("p", { class: "wait" }, SINCE[changes]) : null,
    !plan ? el("p", { role: "status" }, "Planning.") : plan.faults ? el("ul", { class: "bad" }, plan.faults.map((fault) => el("li", {}, fault)))
      : planned(box, plan),
    el("div", { class: "row" }, el("button", { disabled: !plan || Boolean(plan.faults), onclick: () => run(app, { what: "take", name }) }, "Take this one"), el("button", { onclick: () => run(app, { what: "drop", name }) }, "Drop")));
}

function miniature(app, box, plan, lot) {
  const board = new Board(box), drawing = new Drawing(board, app.lot0.look);
  board.world.append(drawing.group(lot.parcel?.drawn || []), ...lot.things.map((thing) => drawing.group(thing.drawn)), drawing.group(plan.laid));
  board.fit(lot.parcel ? lot.parcel.rings.flat() : []);
}
