// A place as it is measured in the yard: off two lines, by two tapes, along and off a wall or line.
import { el, field, choice } from "./dom.js";

const SIDES = ["", "north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"];

export const listed = (id, options) => el("datalist", { id }, options.map((option) => el("option", { value: option })));

const LOT = "parcel", MANY = 400, CORNERS = ["NE", "SE", "SW", "NW"], WALLS = ["north", "east", "south", "west"];

// Of several sides that face the same way, as on an L, the one farther in a direction: north/east.
const which = (name, words) => { const [side, one] = name.split("/"); return `${one ? `${one}ern ` : ""}${side} ${words}`; };

// What tapes are laid from, in words, each with the name by which the site file knows it.
function places({ lot }) {
  const areas = lot.things.filter((each) => each.is === "Polygon"), wall = ({ kind }) => kind === "building" ? "wall" : "side";
  const alone = (is) => lot.things.filter((each) => each.is === is).map((each) => [each.id, each.id]);
  const sides = (id) => lot.measured[id]?.lines ?? WALLS, corners = (id) => lot.measured[id]?.points ?? CORNERS;
  return {
    points: new Map([...areas.flatMap(({ id }) => corners(id).map((side) => [which(side, `corner of ${id}`), `${id}:${side}`])), ...corners(LOT).map((side) => [which(side, "corner of the lot"), `${LOT}:${side}`]), ...alone("Point")]),
    lines: new Map([...sides(LOT).map((side) => [which(side, "property line"), `${LOT}:${side}`]), ...areas.flatMap((area) => sides(area.id).map((side) => [which(side, `${wall(area)} of ${area.id}`), `${area.id}:${side}`])), ...alone("LineString")]),
  };
}

// Walls as they are typed, one after the other: a number after a turn is its angle where another length follows, else the wall.
// Two lengths alone, 40 x 28, are a rectangle: the first wall, and what lies to its left.
export function wallsOf(text) {
  const box = text.match(/^([^xrl×*]+?)\s*[x×*]\s*([^xrl×*]+)$/i)?.slice(1).map((side) => side.trim());
  if (box) return [box[0], "L", box[1], "L", box[0]];
  const parts = text.match(/[RL](?![a-z])|[^RL,\s][^RL,]*/gi)?.map((part) => part.trim()) || [], told = [];
  for (let i = 0; i < parts.length; i++) {
    const [turn, ...rest] = [parts[i], ...(parts[i + 1]?.split(/\s+(?=\d)/) ?? [])];
    if (!/^[RL]$/i.test(turn)) { told.push(turn); continue; }
    const angle = /^\d+(\.\d+)?$/.test(rest[0] ?? "") && rest.length > 1 && !/^\d+((\.\d+)?\s*(in|")|\/\d)/.test(rest[1]);
    told.push(angle ? `${turn} ${rest[0]}` : turn);
    if (angle) parts[i + 1] = rest.slice(1).join(" ");
  }
  return told;
}

const filled = (values) => Object.fromEntries(Object.entries(values).filter(([, each]) => each));

let count = 0;

// A choice of what a tape is laid from; where there are too many, a field that proposes them.
function from(options, now) {
  const known = now && ![...options.values()].includes(now) ? new Map([[now, now], ...options]) : options;
  if (known.size <= MANY) return { input: choice([...known].map(([words, name]) => [name, words]), now), name: (input) => input.value };
  const id = `places-${++count}`, words = [...known].find(([, name]) => name === now)?.[0] ?? now;
  return { input: el("input", { value: words, list: id }), name: (input) => known.get(input.value.trim()) ?? input.value.trim(), list: listed(id, [...known.keys()]) };
}

// One of the ways in which a place is measured: its fields, and what they come to; null while one of them is empty.
function way(title, open, rows, read, words) { return { title, open, rows, read, words }; }

const ALONG = { north: ["east", "west"], south: ["east", "west"], east: ["north", "south"], west: ["north", "south"] }, BEARING = "bearing";

// Where a first wall leads: a point of the compass, along a line that is drawn, or a bearing. `placed`, where given, hears of each change.
export function leads(app, now, placed = null) {
  const options = new Map(WALLS.map((way) => [way, way]));
  for (const [words, name] of places(app).lines) for (const way of ALONG[name.split(/[:/]/)[1]] || []) options.set(`${way} along ${name}`, `${way}, along the ${words}`);
  const known = options.has(now), bearing = el("input", { value: known ? "" : now, placeholder: "N 80 E" }), row = field("Bearing", bearing);
  const read = () => list.value === BEARING ? bearing.value.trim() : list.value;
  const list = choice([...options, [BEARING, "by a bearing"]], known ? now : BEARING, { onchange: () => { row.hidden = list.value !== BEARING; if (placed && read()) placed(read()); } });
  row.hidden = known;
  if (placed) bearing.addEventListener("change", () => read() && placed(read()));
  return { rows: [field("First wall leads", list), row], read };
}

// The first of some names that there is, or one of several sides so called; else another of the same thing.
function usual(options, wanted, taken = []) {
  const names = [...options.values()].filter((name) => !taken.includes(name)), owner = wanted[0].split(":")[0];
  for (const name of wanted) {
    const found = names.find((each) => each === name || each.startsWith(`${name}/`));
    if (found) return found;
  }
  return names.find((each) => each.startsWith(`${owner}:`)) ?? names[0] ?? wanted[0];
}

// `known`: how it is measured already, null where nothing lies there yet; `placed` is called with the place as the site file has it. Without `placed` whoever asks reads it.
export function measures(app, known, placed = null) {
  const told = known ?? {};
  const { points, lines } = places(app), metric = app.lot.unit.name === "m", house = app.lot.things.find((each) => each.kind === "building" && each.is === "Polygon")?.id ?? LOT;
  const longs = metric ? ["12.8", "3", "4.6"] : ["42 ft 6 in", "10 ft", "15 ft"];
  const spot = (options, now) => { const made = from(options, now); return { ...made, get meant() { return made.name(made.input); } }; };
  const long = (now, example) => el("input", { value: now || "", placeholder: example }), side = (now) => choice(SIDES, now || "");
  // a line that is neither wall nor property line has no side that is meant unless it is said
  const beside = (words, line, input) => { const row = field(words, input), show = () => { row.hidden = line.meant.includes(":"); }; line.input.addEventListener("input", show); show(); return row; };
  const full = (...inputs) => inputs.every((each) => each.value.trim());
  // lines that meet, and two corners of one wall
  const first = usual(lines, [`${LOT}:west`, `${LOT}:east`]), second = usual(lines, [`${LOT}:south`, `${LOT}:north`, `${LOT}:southwest`, `${LOT}:southeast`], [first]);
  const east = usual(points, [`${house}:NE`, `${house}:SE`]), west = usual(points, [`${house}:NW`, `${house}:SW`], [east]);
  const off = [first, second].map((name, each) => { const [line, far, to] = (told.off && !told.line && told.off[each]) || [name]; return [spot(lines, line), long(far, longs[each]), side(to)]; });
  const ties = [east, west].map((corner, each) => { const [name, far] = told.ties?.[each] || [corner]; return [spot(points, name), long(far, longs[0])]; });
  const crossing = side(told.ties ? told.side : "north"), line = spot(lines, told.line || usual(lines, [`${house}:north`]));
  const end = choice(WALLS, told.from || "west"), along = long(told.station, longs[1]), away = long(told.line ? told.off : "", longs[2]), to = side(told.line ? told.side : "");
  const ways = [
    way("Off two lines", !known || Boolean(told.off && !told.line), [
      off.map(([name, far, to], each) => [field(`Line ${each + 1}`, name.input), name.list, field(`off line ${each + 1}`, far), beside(`line ${each + 1}, to the`, name, to)]),
      el("small", {}, "Off a property line is inward, off a wall outward.")],
    () => full(...off.map(([, far]) => far)) ? { off: off.map(([name, far, to]) => [name.meant, far.value.trim(), ...(!name.meant.includes(":") && to.value ? [to.value] : [])]) } : null, "Place off these lines"),
    way("By two tapes", Boolean(told.ties), [
      ties.map(([name, far], each) => [field(`Tape ${each + 1} from`, name.input), name.list, field(`length of tape ${each + 1}`, far)]), field("They meet to the", crossing)],
    () => full(...ties.map(([, far]) => far)) ? filled({ ties: ties.map(([name, far]) => [name.meant, far.value.trim()]), side: crossing.value }) : null, "Place by these tapes"),
    way("Along and off a wall or line", Boolean(told.line), [
      field("Wall or line", line.input), line.list, field("from its end in the", end), field("along it", along), field("off it", away), beside("to the", line, to)],
    () => full(along, away) ? filled({ line: line.meant, from: end.value, station: along.value.trim(), off: away.value.trim(), side: line.meant.includes(":") ? "" : to.value }) : null, "Place off the line"),
  ];
  const box = el("div", { class: "measures" }, ways.map((each) => el("details", { open: each.open, name: "way", class: placed && "group" }, el("summary", {}, each.title), each.rows,
    placed ? el("div", {}, el("button", { class: "does", onclick: () => { const place = each.read(); if (place) placed(place); else app.say("Say how far it is, twice."); } }, each.words)) : null)));
  box.read = () => ways.find((_, at) => box.children[at].open)?.read() ?? null;
  return box;
}
