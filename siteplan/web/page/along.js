// What lies along a property line: a strip inside of it, such as an easement, or a street outside.
import { el, field, choice } from "./dom.js";
import { length } from "./forms.js";
import { apart, facing, onLine } from "./snap.js";

const STREETS = ["street"]; // what passes a lot outside of its line
const STRIPS = ["easement", "paving", "drainfield", "reserve area", "floodplain", "wetland", "steep slope", "protection zone", "garden", "lent ground", "other keep-out", "tree", "livestock pen", "planned addition", "stream"];
const BEYOND = 12; // metres: a street goes on at least so far beyond the lot

// How a side of a closed ring lies: from where to where, how long, and which way is in [1 m long].
function sideOf(ring, at) {
  const from = ring[at - 1], to = ring[at], long = apart(from, to);
  const turns = ring.slice(1).reduce((sum, [x, y], each) => sum + ring[each][0] * y - x * ring[each][1], 0), side = turns > 0 ? 1 : -1;
  return { from, to, long, inward: [-(to[1] - from[1]) / long * side, (to[0] - from[0]) / long * side] };
}

// Corners of a strip inside of a closed ring along its side that ends at a corner, as far as the sides next to it.
export function stripAlong(ring, at, wide) {
  const { from, to, inward } = sideOf(ring, at), before = at > 1 ? ring[at - 2] : ring.at(-2), after = at + 1 < ring.length ? ring[at + 1] : ring[1];
  // on the next side where it is as far in; straight in where that side leads elsewhere
  const end = (corner, next) => {
    const away = [next[0] - corner[0], next[1] - corner[1]], deep = away[0] * inward[0] + away[1] * inward[1];
    return deep < wide ? [corner[0] + wide * inward[0], corner[1] + wide * inward[1]] : [corner[0] + away[0] * wide / deep, corner[1] + away[1] * wide / deep];
  };
  return [from, to, end(to, after), end(from, before)];
}

// The middle of a street that passes outside of a side, so far off it.
export function streetAlong(ring, at, far) {
  const { from, to, long, inward: [inX, inY] } = sideOf(ring, at), more = (far + BEYOND) / long;
  return [[from, to], [to, from]].map(([[x, y], [otherX, otherY]]) => [x - far * inX - (otherX - x) * more, y - far * inY - (otherY - y) * more]);
}

// The side that a street passes most likely, by its number: where a drive comes to the line, else where a house is nearest to it.
export function passed({ parcel, things }) {
  const ring = parcel.rings[0], of = (kind) => things.filter((thing) => thing.kind === kind).flatMap(({ rings }) => rings[0] ?? []);
  const [spots] = [of("driveway"), of("building")].filter((points) => points.length);
  const far = (at) => Math.min(...spots.map((spot) => apart(spot, onLine(spot, ring[at - 1], ring[at]))));
  return spots ? ring.slice(1).map((_, at) => at + 1).sort((one, other) => far(one) - far(other))[0] : 1;
}

// The fields by which it is drawn; null where nobody draws a thing of its kind so. `draw` is called with its points.
export function alongTheLine(app, kind, shape, draw) {
  const { lot } = app, ring = lot.parcel.rings[0], { name, metres } = lot.unit, outside = STREETS.includes(kind) && shape === "line";
  if (!outside && !(shape === "area" && STRIPS.includes(kind))) return null;
  const side = (at) => `${facing(ring, at)} property line of ${length(apart(ring[at - 1], ring[at]), lot)} ${name}`;
  const along = choice(ring.slice(1).map((_, at) => [String(at + 1), side(at + 1)]), String(outside ? passed(lot) : 1)), figure = el("input", { inputmode: "decimal", placeholder: outside ? (name === "ft" ? "25" : "8") : (name === "ft" ? "10" : "3") });
  return el("details", { class: "group", open: outside }, el("summary", {}, "Along a property line"), field(outside ? "Passes the" : "Along the", along, "wide-words"), field(outside ? `Its middle, so far outside (${name})` : `How wide (${name})`, figure),
    el("button", { class: "does", onclick: () => {
      const far = Number(figure.value) * metres;
      if (far > 0) draw((outside ? streetAlong : stripAlong)(ring, Number(along.value), far).map((point) => point.map((axis) => Math.round(axis * 1000) / 1000)));
      else app.say(outside ? "Say how far outside its middle is, as a number." : "Say how wide it is, as a number.");
    } }, outside ? "Draw the street" : "Draw the strip"));
}

// Of each street that passes the lot the place nearest to it, to be seen with it.
export function beside({ parcel, things }) {
  const [ring] = parcel?.rings ?? [[]];
  return things.filter(({ kind, is }) => STREETS.includes(kind) && is === "LineString").flatMap(({ rings: [line] }) => {
    const spots = line.slice(1).flatMap((end, at) => ring.map((corner) => [onLine(corner, line[at], end), corner]));
    return spots.sort((one, other) => apart(...one) - apart(...other)).slice(0, 1).map(([spot]) => spot);
  });
}
