// Sheets as they will print, variants side by side, and what is taken along.
import { el, put, at, svg, table } from "./dom.js";
import { act, download } from "./server.js";
import { Drawing } from "./drawing.js";
import { Board } from "./board.js";

export async function showSheets(app) {
  const where = at("sheets");
  put(where, el("p", { role: "status" }, "Composing the sheets."));
  const told = await act("ask", { about: "sheets" });
  if (told.fault) { put(where, el("p", { class: "bad" }, told.fault)); return; }
  put(where, told.sheets.map(([name, text]) => [el("h2", {}, name), picture(text)]));
}

// Read as XML, a sheet brings no scripts and no words that turn into elements.
function picture(text) {
  return document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true);
}

export function showLeave(app) {
  const rows = [
    ["package", "Permit package (zip)", "Drawing, print, pictures, tables: the very files of siteplan plan."],
    ["offer", "Offer for the owner (picture)", "Plan, verdict, comparison and cautions on one page."],
    ["page", "Page to mail (HTML)", "One file that opens without a server."],
    ["site", "Site file", "What all this is made of."],
  ];
  const told = el("p", { role: "status" });
  put(at("leave"), el("h2", {}, "Take along"), rows.map(([what, name, words]) => el("div", { class: "row" },
    el("button", { "data-take": what, onclick: async (event) => {
      event.target.disabled = true;
      told.textContent = `Making: ${name}.`;
      try { await download(what); told.textContent = `Ready: ${name}.`; } catch (error) { told.textContent = error.message; }
      event.target.disabled = false;
    } }, name), el("span", {}, words))), told);
}

export async function showVariants(app, told = null) {
  const { variants } = told || await act("variant", { what: "list" });
  const name = el("input", { value: `Variant ${variants.length + 1}` });
  const what = el("select", {}, Object.entries(KNOBS).map(([path, [words]]) => el("option", { value: path }, words)));
  const value = el("input", { placeholder: KNOBS[what.value][1] });
  what.addEventListener("change", () => { value.placeholder = KNOBS[what.value][1]; });
  const run = (asked) => app.run(async () => {
    const back = await act("variant", { digest: app.lot.digest, ...asked });
    if (back.variants) { showVariants(app, back); return null; }
    return back;
  });
  const add = () => {
    const typed = value.value.trim(), path = what.value;
    const told = path === "rules.books" ? typed.split(/[\s,]+/) : path.endsWith("file") ? typed : typed;
    run({ what: "add", name: name.value, ops: typed ? [{ op: "set", path: path.split("."), value: told }] : [] });
  };
  put(at("variants"),
    el("h2", {}, "What if"),
    el("div", { class: "row" }, el("label", {}, "Name ", name), el("label", {}, "change ", what), el("label", {}, "to ", value), el("button", { onclick: add, disabled: variants.length >= 4 }, "Keep beside"), el("small", {}, "Up to four; nothing is changed until you take one.")),
    el("div", { class: "variants" }, variants.map((each) => variant(app, each, run))));
  for (const box of at("variants").querySelectorAll("svg.picture")) box.begin?.();
}

const KNOBS = {
  "vertical.spacing": ["bore spacing", "15 ft"], "vertical.depth.most": ["deepest bore", "400 ft"],
  "horizontal.spacing": ["trench spacing", "8 ft"], "horizontal.depth": ["trench depth", "6 ft"], "horizontal.kind": ["kind of trench", "four pipes"],
  "exchanger.system": ["loop type", "vertical"], "exchanger.entry": ["entry", "any wall"], "rules.books": ["rule books", "maine"], "fluid.mixture": ["fluid", "methanol 15 %"],
  "prices.currency": ["currency of prices", "USD"],
};

function variant(app, { name, plan }, run) {
  const box = svg("svg", { class: "picture", role: "img", "aria-label": `Plan of ${name}` });
  if (plan?.laid) box.begin = () => miniature(app, box, plan);
  return el("div", { class: "variant" }, el("h2", {}, name),
    !plan ? el("p", { role: "status" }, "Planning.") : plan.faults ? el("ul", { class: "bad" }, plan.faults.map((fault) => el("li", {}, fault)))
      : [box, el("p", { class: plan.fits ? "good" : "bad" }, plan.verdict), table(["loop type", "needs", "holds"], plan.trials.map((trial) => [`${trial.system}: ${trial.fits ? "fits" : "no"}`, trial.needs, trial.holds])),
        plan.heads.length > 1 ? table(["", ...plan.heads], plan.lines.slice(0, 8)) : null],
    el("div", { class: "row" }, el("button", { disabled: !plan || Boolean(plan.faults), onclick: () => run({ what: "take", name }) }, "Take this one"), el("button", { onclick: () => run({ what: "drop", name }) }, "Drop")));
}

function miniature(app, box, plan) {
  const board = new Board(box), drawing = new Drawing(board, app.lot0.look);
  const { lot } = app;
  board.world.append(drawing.group(lot.parcel?.drawn || []), ...lot.things.map((thing) => drawing.group(thing.drawn)), drawing.group(plan.laid));
  board.fit(lot.parcel ? lot.parcel.rings.flat() : []);
}
