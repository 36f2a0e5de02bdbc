// Elements made of names, attributes and children: text is always text, never markup.
const SVG = "http://www.w3.org/2000/svg";

function filled(made, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, String(value));
  }
  made.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

export const el = (name, attributes = {}, ...children) => filled(document.createElement(name), attributes, children);
export const svg = (name, attributes = {}, ...children) => filled(document.createElementNS(SVG, name), attributes, children);
export const at = (id) => document.getElementById(id);

export function put(where, ...children) {
  where.replaceChildren(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
}

let count = 0;

export function field(label, input, look = "") {
  input.id ||= `field-${++count}`;
  return el("div", { class: `field ${look}`.trim() }, el("label", { for: input.id }, label), input);
}

export function choice(options, chosen, attributes = {}) {
  const made = el("select", attributes);
  for (const option of options) {
    const [value, words] = Array.isArray(option) ? option : [option, option];
    made.append(el("option", { value, selected: value === chosen }, words));
  }
  return made;
}

export function table(head, rows) {
  return el("div", { class: "wide" }, el("table", {},
    el("thead", {}, el("tr", {}, head.map((cell) => el("th", { scope: "col" }, cell)))),
    el("tbody", {}, rows.map((row) => el("tr", {}, row.map((cell) => el("td", {}, cell)))))));
}
