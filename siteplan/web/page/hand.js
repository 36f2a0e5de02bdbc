// Bores that the plan has laid out, put elsewhere by hand: from then on all of them stand where somebody gave their places.
import { el } from "./dom.js";

const BORE = "bore ", FINGER = 22, MOUSE = 9; // pixels: half the breadth of a finger; how near a mouse comes

// Places in the file, where somebody has given them; else none.
const given = (app) => app.lot.settings.vertical?.places || [];

// What is laid out near a place on the board; of what is out of date nothing.
export function laidNear({ board, laid }, event) {
  if (!laid.plan || laid.old) return null;
  const [x, y] = board.seen(board.ground(event)), reach = event.pointerType === "mouse" ? MOUSE : FINGER;
  const far = ([, spot]) => { const [sx, sy] = board.seen(spot); return Math.hypot(sx - x, sy - y); };
  const near = laid.plan.names.filter((each) => each[2] && far(each) < reach).sort((one, other) => far(one) - far(other))[0];
  return near ? { id: near[3] ? BORE + near[0] : null, name: near[0] } : null;
}

// A bore that may be moved: its place, and how a change calls it.
export function bore(app, id) {
  if (!id?.startsWith(BORE)) return null;
  const name = id.slice(BORE.length), { metres } = app.lot.unit, place = given(app)[Number(name.slice(1)) - 1];
  const spot = place ? place.map((axis) => axis * metres) : app.laid.old ? null : app.laid.plan?.names.find((each) => each[3] && each[0] === name)?.[1];
  return spot ? { id, bore: name, key: "at", points: [spot] } : null;
}

export const bores = ({ laid }) => laid.old || !laid.plan ? [] : laid.plan.names.filter((each) => each[3]).map(([name]) => BORE + name);

export function boreForm(app, target, corners, close) {
  const fixed = given(app).length;
  return [
    el("h2", {}, target.id),
    el("p", {}, fixed ? "The places of the bores are given by hand and kept: they are checked, and nothing looks for better ones."
      : "It lies where the plan has laid it out. Drag it, or type where it shall stand: all bores then stay where they are, given by hand, and each is checked. Undo takes it back."),
    corners,
    fixed ? el("button", { onclick: () => app.change([{ op: "set", path: ["vertical", "places"], value: null }]) }, "Have the plan lay the bores out") : null,
    close,
  ];
}
