// What the engine answers, stage by stage. Only the full plan says that it fits.
import { el, put, at, table } from "./dom.js";
import { act } from "./server.js";
import { goTo, leads } from "./leads.js";

export function showVerdict(app) {
  const { stages, parcel } = app.lot, plan = stages.plan, head = at("verdict"), missing = stages.faults || (app.lot.faults.length > 0 && !stages.area);
  const [words, look] = !parcel ? ["Begin with the property line.", "wait"] : plan ? [plan.verdict, plan.fits ? "fits" : "not"]
    : missing ? ["Not yet to be planned: see what is missing.", "wait"] : soFar(stages);
  head.textContent = words;
  head.title = words; // it may be longer than its two lines
  head.className = look;
  at("stop").hidden = Boolean(plan || missing || !parcel);
  put(at("answer"), plan ? planned(app, plan) : stages.area ? staged(app, stages) : null);
}

// What somebody has opened or closed stays so, whatever is planned next.
const fold = (app, name, words, open, ...inside) => el("details", { open: app.folds?.[name] ?? open }, el("summary", { onclick: ({ target }) => { (app.folds ??= {})[name] = !target.parentElement.open; } }, words), inside);

const ended = (words) => words.endsWith(".") ? words : `${words}.`;

// What is known before the full plan, in words that never say FITS.
function soFar({ area, quick, laid, drawn }) {
  if (drawn) return drawn.fits
    ? [`${drawn.system}: ${ended(drawn.why)} Laid out, its distances kept. The full plan follows.`, "wait"]
    : [`${drawn.system}: ${ended(drawn.why)} The full plan follows.`, "not"];
  if (laid) return [laid.separations.length ? `${laid.system}: laid out, its distances are checked. What the wells do to the aquifer over the years is being calculated.` : `${laid.system}: ${ended(laid.why)}`, "wait"];
  if (area?.cannot) return [`${area.system}: no arrangement holds more than ${area.bound} of ${area.measure}; ${area.needs} is needed.`, "not"];
  if (quick?.held && area?.needs) return [`${area.system}: straight rows hold ${quick.held} of ${area.measure}, ${area.needs} is needed. Laying it out.`, quick.room ? "wait" : "not"];
  if (area) return [`${area.system}: ${area.bound && area.needs ? `the ground left holds at most ${area.bound} of ${area.measure}, ${area.needs} is needed. Laying it out` : "being laid out on the ground left"}.`, "wait"];
  return ["Planning.", "wait"];
}

// What is known of each loop type so far: the one drawn with its bound, the others as they come.
function staged(app, { area, quick, laid, drawn, faults, others = [] }) {
  const room = Object.entries(area.parts).map(([part, { area: size }]) => `${part}: ${size}`).join("; ");
  const first = drawn || (laid && { ...laid, fits: undefined, why: laid.separations.length ? "laid out, its distances are checked" : laid.why }) || { system: area.system, needs: area.needs, holds: quick?.held || "", why: [quick?.held && "by straight rows", !faults && "it is being laid out"].filter(Boolean).join("; ") };
  return [el("div", { id: "opinion", "aria-live": "assertive" }), el("h2", {}, "So far"), el("p", {}, `Ground left: ${room}.`),
    area.bound ? el("p", {}, `${area.system}: no arrangement holds more than ${area.bound} of ${area.measure}.`) : null,
    table(["loop type", "needs", "holds", "why"], [first, ...others].map((each) => [
      el("span", { class: each.fits === undefined ? "" : each.fits ? "good" : "bad" }, `${each.system}${each.fits === undefined ? "" : each.fits ? ": laid out" : ": no"}`), each.needs, each.holds, [each.why, leads(app, each.leads)]])),
    drawn || laid ? setbacks(app, drawn || laid) : null];
}

const setbacks = (app, { separations }) => fold(app, "setbacks", "Setbacks: asked, kept, by whom", false, table(["what", "asked", "there", "source"], separations.map((row) => [
  el("span", { class: row.kept ? "" : "bad" }, row.what), row.asked, row.there, row.source])));

function planned(app, plan) {
  return [
    el("div", { id: "opinion", "aria-live": "assertive" }),
    el("h2", {}, "Loop types"),
    table(["loop type", "needs", "holds", "why"], plan.trials.map((trial) => [
      el("span", { class: trial.fits ? "good" : "bad" }, `${trial.system}${trial.drawn ? " (drawn)" : ""}: ${trial.fits ? "fits" : trial.room ? "not yet" : "no"}`), trial.needs, trial.holds, [trial.why, leads(app, trial.leads)]])),
    plan.heads.length > 1 ? [el("h2", {}, "What each takes"), table(["", ...plan.heads], plan.lines)] : null,
    plan.hinges.length ? [el("h2", {}, "It hinges on"), list(plan.hinges)] : null,
    plan.remedies.length ? [el("h2", {}, "What would make it fit"), remedies(app, plan)] : null,
    plan.nothing_helps ? [el("h2", {}, "What would make it fit"), el("p", {}, plan.nothing_helps)] : null,
    setbacks(app, plan),
    costs(app, plan),
    plan.findings.length ? fold(app, "findings", "Findings", plan.findings.some(([severity]) => severity === "error"), el("ul", {}, plan.findings.map(([severity, words, told]) => el("li", { class: severity === "error" ? "bad" : "" }, `${severity}: ${words}`, leads(app, told))))) : null,
  ];
}

// What helps, under the loop type that it helps: the verdict speaks of the one drawn.
function remedies(app, plan) {
  const systems = [...new Set([plan.system, ...plan.remedies.map(({ system }) => system)])];
  const of = (system) => plan.remedies.filter((each) => each.system === system);
  return systems.filter((system) => of(system).length).map((system) => [
    el("h3", {}, system === plan.system ? `${system} (drawn)` : `${system}, in place of ${plan.system}`),
    el("ul", {}, of(system).map((remedy) => el("li", {}, `${remedy.words} `,
      remedy.ops.length ? el("button", { class: "remedy", onclick: () => app.change(remedy.ops) }, "Try it") : null, tried(remedy), leads(app, remedy.leads))))]);
}

// A figure stated for a trial has to be so; undo takes it back.
const tried = ({ ops, by_hand: why }) => el("small", {}, why || (ops.some((op) => op.op === "say") ? `States ${ops.filter((op) => op.op === "say").map((op) => `${op.key.replace("_", " ")} ${op.value} of ${op.id}`).join(", ")}: keep it only where that is so.` : ""));

const list = (lines) => el("ul", {}, lines.map((line) => el("li", {}, line)));

function costs(app, plan) {
  const rows = (told) => told.length ? table(["rule", "source", "takes"], told.map((row) => [row.rule, row.source, row.gain])) : el("p", {}, "No rule takes anything here.");
  const box = el("div", {}, plan.costs.length ? rows(plan.costs) : el("button", { onclick: async (event) => {
    event.target.disabled = true;
    const told = await act("ask", { about: "costs" });
    put(box, told.fault ? el("p", { class: "bad" }, told.fault) : rows(told.costs));
  } }, "Work out what each takes"));
  return fold(app, "costs", "What each setback costs", plan.costs.length > 0, box);
}

export function showOpinion(app, told) {
  const box = at("opinion");
  app.redden(told.places || [], told.broken ? told.wrong : []);
  if (!box) return;
  if (!told.broken) return;
  const head = at("verdict");
  const [first] = told.overlaps;
  if (told.broken.length) { head.textContent = `Too near: ${told.broken[0].what}`; head.className = "not"; }
  else if (first) { head.textContent = first.words; head.className = "not"; }
  else { head.textContent = "Every distance is kept by what is drawn; let go to plan it."; head.className = "wait"; }
  put(box, told.broken.length ? el("ul", { class: "bad" }, told.broken.slice(0, 6).map((each) => el("li", {}, each.source ? `${each.what} (${each.source})` : each.what))) : null, told.overlaps.map(({ words }) => el("p", { class: "bad" }, words)));
}

const wanted = (app) => app.lot.parcel ? el("p", {}, "Heat pump or load, ground, trench and rule books are filled in under ", el("button", { onclick: () => goTo(app, "") }, "What is wanted"), " below.") : null;

const missing = (app, { where, what, mend, path, leads: told }) => el("li", {}, `${where ? `${where}: ` : ""}${what} ${mend} `, told?.length ? leads(app, told) : path ? el("button", { onclick: () => goTo(app, path) }, "Fill it in") : null);

export function showFaults(app) {
  const { faults, granted } = app.lot;
  const told = faults.length ? el("ul", {}, faults.map((fault) => missing(app, fault))) : app.lot.stages.faults ? list(app.lot.stages.faults) : null;
  const show = (name) => ({ called: `Show ${name}`, thing: name });
  const twice = app.lot.overlaps.map(({ words, things }) => el("li", { class: "bad" }, words, leads(app, things.map(show))));
  put(at("faults"), twice.length ? [el("h2", {}, "Drawn on one another"), el("ul", {}, twice)] : null, told ? [el("h2", {}, "Still missing, or not understood"), told, wanted(app)] : null, granted.length && told ? [el("h2", {}, "Assumed so far"), list(granted)] : null);
}
