// A place as it is measured in the yard: off two lines, by two tapes, along and off a wall or line.
import { el, field, choice } from "./dom.js";

const SIDES = ["", "north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"];

export const listed = (id, options) => el("datalist", { id }, options.map((option) => el("option", { value: option })));

// What tapes are laid from, by the names that the site file knows: "parcel" is the lot.
function names({ lot }) {
  const about = ["parcel", ...lot.things.filter((each) => each.is === "Polygon").map((each) => each.id)];
  const points = [...about.flatMap((id) => ["NE", "SE", "SW", "NW"].map((side) => `${id}:${side}`)), ...lot.things.filter((each) => each.is === "Point").map((each) => each.id)];
  const lines = [...about.flatMap((id) => ["north", "east", "south", "west"].map((side) => `${id}:${side}`)), ...lot.things.filter((each) => each.is === "LineString").map((each) => each.id)];
  return { points, lines };
}

const filled = (values) => Object.fromEntries(Object.entries(values).filter(([, each]) => each));

let count = 0;

// `told`: how it is measured already; `placed` is called with the place as the site file has it.
export function measures(app, told, placed) {
  const { points, lines } = names(app), number = ++count, metric = app.lot.unit.name === "m";
  const longs = metric ? ["12.8", "3", "4.6"] : ["42 ft 6 in", "10 ft", "15 ft"], line = `tie-lines-${number}`, point = `tie-points-${number}`;
  const input = (value, placeholder, list = null) => el("input", { value: value || "", placeholder, list });
  const off = [0, 1].map((each) => { const [name, long, side] = told.off && !told.line ? told.off[each] || [] : []; return [input(name, each ? "parcel:south" : "parcel:west", line), input(long, longs[each]), choice(SIDES, side || "")]; });
  const ties = [0, 1].map((each) => { const [name, long] = told.ties?.[each] || []; return [input(name, each ? "house:NW" : "house:NE", point), input(long, longs[0])]; });
  const crossing = choice(SIDES, told.ties ? told.side || "" : "");
  const along = [input(told.line, "house:north", line), choice(SIDES, told.line ? told.from || "" : ""), input(told.station, longs[1]), input(told.line ? told.off : "", longs[2]), choice(SIDES, told.line ? told.side || "" : "")];
  // a line that is neither wall nor property line has no side that is meant unless it is said
  const bare = (name) => name.value && !name.value.includes(":");
  const sides = off.map(([name, , side], each) => { const row = field(`line ${each + 1}, to the`, side); row.hidden = !bare(name); name.addEventListener("input", () => { row.hidden = !bare(name); }); return row; });
  const said = (inputs) => inputs.every((each) => each.value.trim()) || (app.say("Say from what, and how far."), false);
  return el("div", { class: "measures" }, listed(line, lines), listed(point, points),
    el("details", { open: Boolean(told.off && !told.line) }, el("summary", {}, "Off two lines"),
      off.map(([name, long], each) => [field(`Line ${each + 1}`, name), field("off", long), sides[each]]), el("small", {}, "Off a property line is inward, off a wall outward."),
      el("div", {}, el("button", { onclick: () => said(off.flatMap(([name, long]) => [name, long])) && placed({ off: off.map(([name, long, side]) => [name.value.trim(), long.value.trim(), ...(bare(name) && side.value ? [side.value] : [])]) }) }, "Place off these lines"))),
    el("details", { open: Boolean(told.ties) }, el("summary", {}, "By two tapes"),
      ties.map(([name, long], each) => [field(`Tape ${each + 1} from`, name), field("length", long)]), field("The crossing to the", crossing),
      el("button", { onclick: () => said(ties.flat()) && placed(filled({ ties: ties.map(([name, long]) => [name.value.trim(), long.value.trim()]), side: crossing.value })) }, "Place by these tapes")),
    el("details", { open: Boolean(told.line) }, el("summary", {}, "Along and off a wall or line"),
      field("Wall or line", along[0]), field("from its end in the", along[1]), field("along", along[2]), field("off", along[3]), field("to the (of a line)", along[4]),
      el("button", { onclick: () => said([along[0]]) && placed(filled({ line: along[0].value.trim(), from: along[1].value, station: along[2].value.trim(), off: along[3].value.trim(), side: along[4].value })) }, "Place off the line")));
}
