// From a message to where what it asks for is done: a field, a tool, a thing on the lot, another view.
import { el, at } from "./dom.js";
import { nameOther } from "./forms.js";

// Where figures are typed: a field of its own, else it is named under anything else, ready to be stated.
export function goTo(app, path) {
  app.view("lot");
  at("wanted").open = true;
  const input = document.querySelector(path === "rules.own" ? "[data-rule=own]" : `#settings [data-path="${path || "exchanger.capacity"}"]`) || nameOther(app, path);
  input.closest("details:not([open])")?.setAttribute("open", "");
  input.scrollIntoView({ block: "center" });
  input.focus();
}

function lead(app, { path, tool, of, view, thing, key }) {
  if (view) { app.view(view); return; }
  if (path) { goTo(app, path); return; }
  app.view("lot");
  if (thing) { app.pick("move"); app.mover.choose(thing); app.form.querySelector("details:last-of-type")?.setAttribute("open", ""); }
  else app.tools.take(tool, of);
  app.form.scrollIntoView({ block: "start" });
  const meant = key && app.form.querySelector(`[data-key="${key}"]`);
  if (meant) { meant.scrollIntoView({ block: "center" }); meant.focus(); }
  else app.form.querySelector("input, select, textarea")?.focus({ preventScroll: true });
}

// A button for each place that a message names.
export const leads = (app, told) => told?.length ? el("span", { class: "leads" }, told.map((each) => el("button", { class: "lead", onclick: () => lead(app, each) }, each.called))) : null;
