// The page: one lot, shown as the sheet shows it, changed on the server, planned there.
import { el, put, at, svg, choice } from "./dom.js";
import { load, act, listen } from "./server.js";
import { Board, STEP } from "./board.js";
import { BELOW, Drawing, path } from "./drawing.js";
import { Ground, outline } from "./ground.js";
import { allLaid, laid } from "./hand.js";
import { Mover } from "./move.js";
import { beside } from "./along.js";
import { Tools } from "./tools.js";
import { Scale } from "./scale.js";
import { settingsForm, thingForm, length, keepTyping } from "./forms.js";
import { showVerdict, showOpinion, showFaults } from "./verdict.js";
import { showSheets, showLeave } from "./leave.js";
import { listVariants, showVariants } from "./variants.js";

const HINT = 36, NARROW = 600; // pixels: what a line of the hint takes at the lower edge of the board, and where it takes two

class App {
  constructor(told) {
    this.lot0 = told;
    this.lot = told;
    this.selected = null;
    this.corner = null;
    this.tool = "move";
    this.part = null;
    this.form = at("form");
    this.board = new Board(at("board"));
    this.drawing = new Drawing(this.board, told.look);
    this.ground = new Ground();
    this.mover = new Mover(this);
    this.tools = new Tools(this);
    this.scale = new Scale(this);
    this.laid = { plan: null, old: false };
    this.board.watchers.push(() => this.markRed());
    this.ahead = []; // stages of a lot that is not here yet
    this.wire();
    this.show();
    this.home();
    if (!told.parcel) this.pick("parcel");
  }

  home() {
    const { parcel, things } = this.lot;
    this.board.fit(parcel ? [...parcel.rings.flat(), ...beside(this.lot)] : things.flatMap((thing) => thing.rings.flat()), this.board.size[0] < NARROW ? 1.6 * HINT : HINT);
  }

  // --- what is seen

  show() {
    const { lot, board, drawing } = this;
    if (this.unlocked) Object.assign(lot.parcel || {}, lot.parcel?.unlocked);
    at("title").textContent = lot.title || lot.folder;
    document.title = lot.title || lot.folder;
    at("undo").disabled = !lot.undo;
    at("redo").disabled = !lot.redo;
    this.showParts();
    drawing.clear();
    const things = lot.things.map((thing) => this.thing(thing));
    const parcel = svg("g", { class: "thing", "data-id": lot.parcel ? "parcel" : null }, drawing.group(lot.parcel?.drawn || []),
      lot.parcel ? svg("path", { class: "hit line", d: outline(lot.parcel.rings, true) }) : null);
    const entries = [...lot.entries.map((entry) => this.entry(entry)), ...lot.ways.map((way) => this.way(way))];
    // what is small lies on what is large, so that it can be taken hold of
    const rank = (index) => lot.things[index].is.endsWith("Polygon") ? 0 : lot.things[index].is.endsWith("Point") ? 2 : 1;
    const order = [0, 1, 2].flatMap((each) => things.filter((_, index) => rank(index) === each));
    this.layer = svg("g");
    board.world.replaceChildren(this.ground.cover, parcel, ...order, ...entries, this.layer);
    this.names ??= board.over.insertBefore(svg("g"), board.over.firstChild);
    this.names.replaceChildren(...lot.things.map((thing) => drawing.name(thing.text, middle(thing.rings), thing.is.endsWith("Point") ? BELOW : 0)), ...lot.ways.map((way) => drawing.name(way.id.toUpperCase(), way.at, BELOW)));
    this.showLaid();
    board.show();
    this.mover.choose(this.exists(this.selected) ? this.selected : null, this.corner);
    this.showList();
    settingsForm(this, at("settings"));
    showVerdict(this);
    showFaults(this);
    this.notice();
  }

  thing(thing) {
    const area = thing.is.endsWith("Polygon");
    return svg("g", { class: "thing", "data-id": thing.id }, this.drawing.group(thing.drawn), svg("path", { class: `hit${area ? "" : " line"}`, "stroke-linecap": "round", d: outline(thing.rings, area) }));
  }

  entry(entry) {
    const style = entry.assumed ? "candidate" : "entry";
    return svg("g", { class: "thing", "data-id": `entry ${entry.id}` }, this.drawing.group([{ symbol: style, at: entry.at, size: 1.8, style }]), svg("path", { class: "hit line", "stroke-linecap": "round", d: outline([[entry.at]], false) }));
  }

  way({ id, at }) {
    const mark = { symbol: "peg", at, size: 2.4, style: "access" };
    return svg("g", { class: "thing", "data-id": id }, this.drawing.group([mark]), svg("path", { class: "hit line", "stroke-linecap": "round", d: outline([[at]], false) }));
  }

  showLaid() {
    const { plan, drawn, laid } = this.lot.stages, newest = plan || drawn || laid;
    if (newest) this.laid = { plan: newest, old: false };
    else this.laid.old = true;
    const known = this.laid.plan;
    put(this.layer, known ? this.drawing.group(known.laid, { class: `laid${this.laid.old ? " old" : ""}` }) : null);
    // by their names the tables call bores and trenches, above what is red of them; of what is out of date none are told
    this.laidNames ??= this.board.over.insertBefore(svg("g"), this.mover.lengths);
    this.drawing.forget(this.laidNames);
    put(this.laidNames, known && !this.laid.old ? known.names.map(([name, spot, point]) => this.nameLaid(name, spot, point)) : []);
    this.redden([], []);
  }

  // One whose place breaks a rule is red, for as long as it lies there.
  nameLaid(name, spot, point) {
    const made = this.drawing.name(name, spot, point ? BELOW : 0);
    if (this.laid.plan.wrong?.[name]) made.classList.add("wrong");
    return made;
  }

  // What is drawn of the loop was laid out for a lot that is no longer so.
  stale() { this.layer.firstChild?.classList.add("old"); put(this.laidNames); }

  // `wrong`: what of the loop is wrong; null where all of it is.
  redden(places, wrong) {
    this.layer.firstChild?.classList.toggle("red", wrong === null);
    this.reds = places;
    this.wrong = wrong || [];
    this.markRed();
    if (this.drawing.lines.length || this.lines.length) { this.drawing.lines = this.lines; this.drawing.sized(); }
  }

  // What something comes too near to now; at rest what was placed by hand, with a ring around it.
  markRed() {
    const { plan, old } = this.laid, still = plan && !old && !this.mover.moving, { board } = this;
    const lines = this.reds?.length || !still ? this.reds || [] : plan.broken || [], rings = still ? plan.names.filter(([name]) => plan.wrong?.[name]) : [];
    this.lines = lines;
    put(this.mover.marks, lines.map(([from, to]) => {
      const [x1, y1] = board.seen(from), [x2, y2] = board.seen(to);
      return svg("line", { class: "broken", x1, y1, x2, y2 });
    }), [...rings.map(([, spot]) => [spot]), ...this.wrong].map((points) => this.markWrong(points.map((point) => board.seen(point)))));
  }

  markWrong(seen) {
    const [[cx, cy]] = seen;
    return seen.length > 1 ? svg("path", { class: "broken", d: path(seen) }) : svg("circle", { class: "broken", cx, cy, r: 12 });
  }

  step(words) { at("step").textContent = words && `${words} ...`; }

  showOpinion(told) { if (this.mover.moving) showOpinion(this, told); }

  showParts() {
    const { parts, stages } = this.lot;
    const wanted = this.chosenPart ?? (stages.plan ?? stages.drawn ?? stages.laid)?.part ?? this.part;
    // a kind of trench that was chosen by the plan is as wide as that, not as wide as usual
    const laid = [stages.plan, stages.drawn, stages.laid].map((each) => each?.ground).find((each) => each?.part === wanted);
    const part = laid || parts.find((each) => each.part === wanted) || parts[0] || null;
    this.part = part?.part ?? null;
    const select = choice(parts.map((each) => each.part), this.part, { id: "part", onchange: (event) => { this.chosenPart = event.target.value; this.show(); } });
    at("part").replaceWith(select);
    select.closest("label").hidden = !parts.length;
    this.ground.show(this.lot, part);
  }

  showForm() { if (this.tool === "move") keepTyping(this.form, () => put(this.form, thingForm(this))); }

  showList() {
    put(at("list"), el("div", { class: "row" }, this.everything().map((id) => el("button", { "data-thing": id, "aria-pressed": String(id === this.selected), onclick: () => { this.pick("move"); this.mover.choose(id); } }, id === "parcel" ? "property line" : id))));
  }

  everything() {
    const { lot } = this;
    return [...(lot.parcel ? ["parcel"] : []), ...lot.things.map((thing) => thing.id), ...lot.entries.filter((entry) => !entry.assumed).map((entry) => `entry ${entry.id}`), ...lot.ways.map((way) => way.id), ...allLaid(this)];
  }

  exists(id) { return this.everything().includes(id) || Boolean(laid(this, id)); }

  free(word) {
    const taken = new Set(this.everything().map((id) => id.replace(/^entry /, "")));
    if (!taken.has(word)) return word;
    let number = 2;
    while (taken.has(`${word} ${number}`)) number++;
    return `${word} ${number}`;
  }

  say(words) { at("hint").textContent = words; }
  tellPlace([x, y]) { put(at("place")); this.say(`E ${length(x, this.lot)}, N ${length(y, this.lot)} ${this.lot.unit.name}`); }

  notice(words = "") {
    const { lot } = this, rows = [];
    if (lot.outside) rows.push(el("div", { class: "notice" }, el("span", {}, `${lot.name} was changed outside of this page.`), el("button", { onclick: () => this.run(() => act("settle", { take: true })) }, "Take what is on disk"), el("button", { onclick: () => this.run(() => act("settle", { take: false })) }, "Keep what is drawn here")));
    if (lot.tabs > 1 && lot.tabs !== this.tabsSeen) rows.push(el("div", { class: "notice light" }, el("span", {}, `This lot is open in ${lot.tabs} tabs. What one changes, the other shows.`), el("button", { onclick: () => { this.tabsSeen = lot.tabs; this.notice(words); } }, "Close")));
    if (words) rows.push(el("div", { class: "notice" }, el("span", {}, words), el("button", { onclick: () => this.notice() }, "Close")));
    put(at("notices"), rows);
  }

  // --- what is done

  change(ops, tool = null, selected = undefined) {
    if (selected !== undefined) this.selected = selected;
    return this.run(() => act("change", { digest: this.lot.digest, ops: typeof ops === "function" ? ops() : ops }), tool);
  }

  // Back or forth; of a key that is held all at once what came while one was on its way.
  go(way) {
    if (this.goes && this.goes.turn === this.turn && this.goes.way === way) { this.goes.steps++; return; }
    const mine = this.goes = { way, steps: 1 };
    this.run(() => {
      if (this.goes === mine) this.goes = null;
      return act(way, { digest: this.lot.digest, steps: mine.steps });
    });
    mine.turn = this.turn;
  }

  // One after the other: a key pressed quickly builds on the answer to the one before. `tool`: what is taken up then, where nobody has taken up another meanwhile; `stays`: whether what was asked has still to be mended.
  run(asks, tool = null, stays = () => false) {
    const before = this.tool;
    this.turn = (this.turn || 0) + 1; // what comes later is not added to what came before
    this.queue = (this.queue || Promise.resolve()).then(() => this.done(asks, () => Boolean(tool) && this.tool === before && !stays() && (this.pick(tool, false), true)));
    return this.queue;
  }

  async done(asks, pick) {
    this.asking = true;
    try {
      const told = await asks();
      await this.held;
      this.asking = false;
      const first = told?.parcel && (!this.lot.parcel || beside(told).length > beside(this.lot).length);
      if (told?.digest) this.lot = told;
      const back = pick();
      this.show();
      if (first) this.home();
      // the field that had the focus is gone with its form: the next key is for the board
      if (back && document.activeElement === document.body) this.board.element.focus({ preventScroll: true });
      for (const news of this.ahead.splice(0)) this.hear(news);
    } catch (error) {
      this.asking = false;
      if (error.outside) this.lot.outside = true;
      try { if (!error.outside) this.lot = await load(); } catch { /* the server is gone: that is told below */ }
      this.show();
      const gone = error instanceof TypeError;
      if (gone) { this.step(""); at("stop").hidden = true; } // nobody plans any longer
      if (!this.lot.outside) this.notice(gone ? "The server does not answer: start siteplan edit again and open its new address. Every change before this one is saved." : error.message);
    }
  }

  pick(tool, show = true) {
    this.tool = tool;
    for (const button of document.querySelectorAll("[data-tool]")) button.setAttribute("aria-pressed", String(button.dataset.tool === tool));
    this.say(tool === "move" ? "" : at("hint").textContent);
    put(this.form);
    this.form.parentElement.scrollTop = 0;
    this.tools.begin(tool);
    if (show) this.mover.showHandles();
    this.showForm();
  }

  view(name) {
    for (const tab of document.querySelectorAll("[data-view]")) tab.setAttribute("aria-selected", String(tab.dataset.view === name));
    for (const view of document.querySelectorAll(".view")) view.classList.toggle("shown", view.id === name);
    const shows = { sheets: showSheets, leave: showLeave, variants: showVariants };
    shows[name]?.(this);
  }

  // A button that is drawn anew while it is held down is never pressed: what comes meanwhile waits until it is let go.
  hold(event) {
    if (this.held || !event.target.closest("button, summary, a")) return;
    this.held = new Promise((letGo) => {
      const done = ({ type, buttons }) => {
        if (type === "pointermove" && buttons) return;
        for (const each of ends) removeEventListener(each, done, true);
        // what it does is done after this event
        setTimeout(() => { this.held = null; letGo(); });
      };
      const ends = ["pointerup", "pointercancel", "pointermove"];
      for (const each of ends) addEventListener(each, done, true);
    });
  }

  async hear(news) {
    await this.held;
    // told of a lot whose answer is still on its way: that may be older, and must not hide the news
    if (this.asking && (news.type === "outside" || (news.type === "stage" && news.digest !== this.lot.digest))) this.ahead.push(news);
    else if (news.type === "stage" && news.digest === this.lot.digest) {
      if (news.stage === "step") { this.step(news.told); return; }
      this.lot.stages[news.stage] = news.told;
      performance.mark(`stage ${news.stage}`);
      if (this.mover.moving) return;
      this.step("");
      // what was too near before is measured anew: nothing stays red that nobody has judged
      this.redden([], []);
      if (["laid", "drawn", "plan"].includes(news.stage)) { this.showParts(); this.showLaid(); this.showList(); this.board.show(); }
      if (laid(this, this.selected)) this.showForm(); // what is wrong with its place is known now
      showVerdict(this);
      showFaults(this);
      if (news.stage === "plan" && this.variants && at("variants").classList.contains("shown")) listVariants(this, this);
    } else if (news.type === "changed" && news.digest !== this.lot.digest && !this.asking) this.reload();
    else if (news.type === "merged") this.run(() => null).then(() => this.notice(`${this.lot.name} was changed outside of this page: both changes are kept. Undo takes them back one by one.`));
    else if (news.type === "outside") { this.lot.outside = true; this.notice(); }
    else if (news.type === "tabs") { this.lot.tabs = news.count; this.notice(); }
    else if (news.type === "variants" && at("variants").classList.contains("shown")) listVariants(this);
  }

  reload() {
    return this.run(() => this.mover.moving ? null : load());
  }

  wire() {
    const { board, mover, tools } = this;
    board.take = (event) => mover.take(event);
    board.drag = (event) => mover.drag(event);
    board.drop = (event) => mover.drop(event);
    board.leave = () => { put(at("place")); tools.aim(null); };
    board.tap = (event, under) => this.tool === "move" ? mover.tap(event, under) : tools.tap(event);
    addEventListener("pointerdown", (event) => this.hold(event), true);
    for (const button of document.querySelectorAll("[data-tool]")) button.addEventListener("click", () => this.pick(button.dataset.tool));
    for (const tab of document.querySelectorAll("[data-view]")) tab.addEventListener("click", () => this.view(tab.dataset.view));
    const does = {
      // a point that was tapped wrongly is what undo means while something is drawn
      undo: () => this.tools.takeBack() || this.go("undo"), redo: () => this.go("redo"),
      stop: () => act("stop").then(() => { this.step("stopped; the next change plans again"); at("stop").hidden = true; }),
      nearer: () => board.zoom(STEP), farther: () => board.zoom(1 / STEP), whole: () => this.home(),
    };
    for (const [name, act] of Object.entries(does)) at(name).addEventListener("click", act);
    // on paper the board keeps what it shows, scaled to its place there
    addEventListener("beforeprint", () => { this.home(); board.element.setAttribute("viewBox", `0 0 ${board.size.join(" ")}`); });
    addEventListener("afterprint", () => board.element.removeAttribute("viewBox"));
    // Enter does what the button of its fields does, Escape leaves the tool
    this.form.addEventListener("keydown", (event) => {
      if (event.key === "Escape") {
        if (this.tool !== "move") this.pick("move");
        board.element.focus({ preventScroll: true });
      }
      const does = event.key === "Enter" && event.target.tagName === "INPUT" && event.target.closest(".group")?.querySelector("button.does");
      if (does) { event.preventDefault(); does.click(); }
    });
    document.addEventListener("keydown", (event) => {
      const typing = event.target.closest("input, textarea, select");
      if ((event.ctrlKey || event.metaKey) && !typing && "zy".includes(event.key.toLowerCase())) {
        event.preventDefault();
        (event.key.toLowerCase() === "y" || event.shiftKey ? does.redo : does.undo)();
      } else if (this.heeds(event) && !event.ctrlKey && !event.metaKey && this.key(event, does)) event.preventDefault();
    });
  }

  // Whether a key is meant for the board: pressed there, or a letter or Escape after a tool was clicked.
  heeds({ target, key }) {
    if (target === this.board.element) return true;
    return Boolean(target.closest("#tools button")) && (key === "Escape" || (key.length === 1 && key !== " "));
  }

  key(event, does) {
    const tools = { v: "move", p: "parcel", h: "house", a: "add", e: "entry", w: "why" };
    if (tools[event.key]) { this.pick(tools[event.key]); this.form.querySelector("input, textarea, select")?.focus(); return true; }
    const views = { "+": does.nearer, "=": does.nearer, "-": does.farther, "0": does.whole };
    if (views[event.key]) { views[event.key](); return true; }
    if (event.key === "Escape" && this.tool !== "move") { this.pick("move"); this.board.element.focus({ preventScroll: true }); return true; }
    return this.tool === "move" ? this.mover.key(event) : this.tools.key(event);
  }
}

function middle(rings) {
  const closed = rings[0] || [[0, 0]], [first, last] = [closed[0], closed.at(-1)];
  // a ring ends where it begins: that corner counts once
  const ring = closed.length > 1 && first[0] === last[0] && first[1] === last[1] ? closed.slice(1) : closed;
  return [0, 1].map((axis) => ring.reduce((sum, point) => sum + point[axis], 0) / ring.length);
}

try {
  const app = new App(await load());
  listen((news) => app.hear(news), () => app.notice("The server has stopped. Every change is saved: start siteplan edit again and open its new address."));
  document.body.dataset.ready = "yes";
} catch (error) {
  at("verdict").textContent = error.message;
  document.body.dataset.ready = "no";
}
