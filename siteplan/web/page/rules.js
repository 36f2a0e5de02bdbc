// Rules of one's own: what keeps which part off what, how far, and who says so.
import { el, put, field, choice } from "./dom.js";

const known = (app) => app.lot.settings.rules?.own || [];
const listed = (value) => [value].flat().join(", ");

export function ownRules(app) {
  const { from, for: parts } = app.lot0.own_rules;
  const off = choice(from, from[0]), what = choice([["", "every part"], ...parts], ""), far = el("input", { placeholder: app.lot.unit.name === "ft" ? "12 ft" : "4 m" }), who = el("input", { placeholder: "board of health, letter of 3 March 2026" });
  const add = () => {
    if (!far.value.trim() || !who.value.trim()) { app.say("Say how far, and who says so."); return; }
    app.change([{ op: "rule", values: { from: off.value, for: what.value ? [what.value] : parts, distance: far.value.trim(), source: who.value.trim() } }]);
    far.value = who.value = "";
  };
  const rows = el("div", { class: "refreshed" });
  rows.refresh = () => put(rows, known(app).map((rule, number) => el("div", { class: "row" }, el("span", {}, `${rule.distance} from ${listed(rule.from)}, for ${listed(rule.for)}: ${rule.source}`), el("button", { "aria-label": `Take out the rule on ${listed(rule.from)}`, onclick: () => app.change([{ op: "rule", out: number }]) }, "Take it out"))));
  rows.refresh();
  off.dataset.rule = "own";
  return [rows, el("details", { class: "group" }, el("summary", {}, "A rule of your own"),
    el("p", {}, "It takes the place of common practice, never of a rule book. Whoever answers for it is named on the sheet."),
    field("Off what", off), field("Which part", what), field("At least", far), field("Who says so", who), el("button", { class: "does", onclick: add }, "Add the rule"))];
}
