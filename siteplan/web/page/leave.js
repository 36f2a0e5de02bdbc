// Sheets as they will print, and what is taken along.
import { el, put, at } from "./dom.js";
import { act, download } from "./server.js";

export async function showSheets(app) {
  const where = at("sheets");
  put(where, el("p", { role: "status" }, "Composing the sheets."));
  const told = await act("ask", { about: "sheets" });
  if (told.fault) { put(where, el("p", { class: "bad" }, told.fault)); return; }
  put(where, told.sheets.map(([name, text]) => {
    const sheet = picture(text);
    const larger = el("button", { "aria-pressed": "false", onclick: () => larger.setAttribute("aria-pressed", String(sheet.classList.toggle("large"))) }, "Larger");
    return [el("div", { class: "row" }, el("h2", {}, name), larger), el("div", { class: "wide" }, sheet)];
  }));
}

// Read as XML, a sheet brings no scripts and no words that turn into elements.
function picture(text) {
  return document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true);
}

export function showLeave(app) {
  const rows = [
    ["package", "Permit package (zip)", "What the clerk and the driller get: plan.pdf to print, plan.dxf to draw on, pictures, tables of stakes and pipe."],
    ["offer", "Offer for the owner (picture)", "Plan, verdict, comparison and cautions on one page."],
    ["page", "Page to mail (HTML)", "One file that opens without a server."],
    ["site", "Site file", "All that was typed and drawn here, to be opened again or kept."],
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
