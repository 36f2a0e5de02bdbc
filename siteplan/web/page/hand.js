// What the plan has laid out, put elsewhere by hand: from then on all of its kind lie where somebody gave their places.
import { el } from "./dom.js";
import { apart, onLine } from "./snap.js";

const FINGER = 22, MOUSE = 9; // pixels: half the breadth of a finger; how near a mouse comes
// Where the places of each kind stand in the file, and what the page says of it.
const KINDS = {
  bore: { path: ["vertical", "places"], several: "bores", stand: "stand" },
  trench: { path: ["horizontal", "runs"], several: "trenches", stand: "lie" },
  coil: { path: ["pond", "places"], several: "coils", stand: "lie" },
  well: { path: ["open", "places"], several: "wells", stand: "stand" },
};
// What may be added by hand, by the words of its kind.
export const BY_HAND = {
  "bore, placed by hand": { kind: "bore", shape: "at", hint: "Tap where a bore shall stand." },
  "loop trench, placed by hand": { kind: "trench", shape: "line", hint: "Tap where the trench begins, where it bends, and where it ends; then Done." },
  "pond coil, placed by hand": { kind: "coil", shape: "at", hint: "Tap where the middle of a coil shall lie." },
  "supply well, placed by hand": { kind: "well", as: "SUPPLY", shape: "at", hint: "Tap where the supply well shall stand." },
  "return well, placed by hand": { kind: "well", as: "RETURN", shape: "at", hint: "Tap where the return well shall stand." },
  "outfall, placed by hand": { kind: "well", as: "OUTFALL", shape: "at", hint: "Tap the bank of the pond or stream where the water goes back." },
};
export const byHandOf = (kind) => Object.keys(BY_HAND).find((words) => BY_HAND[words].kind === kind);

// Places in the file, where somebody has given them; else none.
const given = (app, kind) => { const [table, key] = KINDS[kind].path; return app.lot.settings[table]?.[key]; };

// Points of what is placed by hand as they stand in the file [of the lot's unit]; nothing where it is not.
function written(app, kind, name) {
  const places = given(app, kind);
  const found = kind === "well" ? places?.[name.toLowerCase()] : places?.[Number(name.replace(/\D/g, "")) - 1];
  return found && (kind === "trench" ? found : [found]);
}

const told = (app) => app.laid.old || !app.laid.plan ? [] : app.laid.plan.names;

// How far a place on the board is from something laid out [pixels].
function far(board, [x, y], [, spot, point, , , points]) {
  const spots = (point || !points ? [spot] : points).map((each) => board.seen(each));
  return Math.min(...spots.map((each, at) => apart([x, y], at ? onLine([x, y], spots[at - 1], each) : each)));
}

// What is laid out near a place on the board; of what is out of date nothing. What is a point comes before a line.
export function laidNear(app, event) {
  const { board } = app, spot = board.seen(board.ground(event)), reach = event.pointerType === "mouse" ? MOUSE : FINGER;
  const near = told(app).map((each) => [far(board, spot, each) + (each[2] ? 0 : 1), each]).filter(([away, each]) => (each[2] || each[5]) && away < reach).sort(([one], [other]) => one - other)[0]?.[1];
  return near ? { id: near[3] ? `${near[4]} ${near[0]}` : null, name: near[0], point: Boolean(near[2]) } : null;
}

// What is laid out and may be moved: its points, and how a change calls it.
export function laid(app, id) {
  const [, kind, name] = /^(\w+) ([A-Z]+\d*)$/.exec(id || "") || [];
  if (!KINDS[kind]) return null;
  const { metres } = app.lot.unit, known = written(app, kind, name), now = told(app).find((each) => each[3] && each[4] === kind && each[0] === name);
  // while a plan is made of it, what the file says
  const points = now ? now[5] : known?.map((point) => point.map((axis) => axis * metres));
  return points ? { id, laid: { kind, name }, key: kind === "trench" ? "line" : "at", points: points.map((point) => [...point]) } : null;
}

export const allLaid = (app) => told(app).filter((each) => each[3]).map(([name, , , , kind]) => `${kind} ${name}`);

// What the check says of it, where its place breaks a rule.
const wrong = (app, { name }) => app.laid.old ? [] : app.laid.plan?.wrong?.[name] || [];

export function laidForm(app, target, corners, close) {
  const { kind } = target.laid, fixed = Boolean(given(app, kind)), { path, several, stand } = KINDS[kind], faults = wrong(app, target.laid);
  return [
    el("h2", {}, target.laid.name === "OUTFALL" ? "outfall" : target.id),
    faults.length ? el("ul", { class: "bad" }, faults.map((words) => el("li", {}, words))) : null,
    el("p", {}, fixed && kind === "well" && !given(app, kind)[target.laid.name.toLowerCase()] ? "The plan has found its place for the other one, which is given by hand. Drag it to keep it elsewhere."
      : fixed ? `The places of the ${several} are given by hand and kept: they are checked, and nothing looks for better ones.`
      : `It lies where the plan has laid it out. Drag it, or type where it shall ${stand}: all ${several} then stay where they are, given by hand, and each is checked. Undo takes it back.`),
    corners,
    el("div", { class: "row" },
      kind === "well" ? null : el("button", { onclick: () => app.tools.take("add", byHandOf(kind)) }, `Add a ${kind}`),
      kind === "well" && given(app, kind)?.[target.laid.name.toLowerCase()] && Object.keys(given(app, kind)).length > 1 ? el("button", { onclick: () => app.change([{ op: "laid", kind, id: target.laid.name, points: [] }]) }, "Have the plan place this one alone") : null,
      fixed ? el("button", { onclick: () => app.change([{ op: "set", path, value: null }]) }, `Have the plan lay the ${several} out`) : null),
    kind === "well" ? el("div", { class: "row" }, el("button", { onclick: () => app.mover.choose(null) }, "Close")) : close,
  ];
}
