// What is chosen, its handles, and how it is moved: by mouse, finger or key.
import { at, put, svg } from "./dom.js";
import { outline } from "./ground.js";
import { laid, laidNear } from "./hand.js";
import { sides, tapes } from "./measured.js";
import { snap } from "./snap.js";
import { act } from "./server.js";

// a little more often than thirty times a second, so that as many are told though one comes late
const OPINION_MS = 1000 / 32, MOST_UNDER_WAY = 3;

// The change that puts a thing's points elsewhere.
export const placed = ({ ref, key, points: before, whole, laid: by }, points) => by ? { op: "laid", kind: by.kind, id: by.name, points } : whole
  ? { op: "shift", ref, by: [0, 1].map((axis) => points[0][axis] - before[0][axis]) } : { op: "points", ref, key, points };

export class Mover {
  constructor(app) {
    this.app = app;
    this.handles = svg("g");
    this.marks = svg("g");
    this.lengths = svg("g");
    app.board.over.append(this.marks, this.lengths, this.handles);
    app.board.watchers.push(() => this.showHandles());
    this.moving = null;
    this.asked = false;
    this.number = this.heard = this.under = 0; // of second opinions: asked last, told last, under way
  }

  // A thing that may be moved: its id, where it stands in the file, its points.
  target(id) {
    const { lot } = this.app, hand = laid(this.app, id);
    if (hand) return hand;
    if (id === "parcel") return lot.parcel && lot.parcel.points ? { id, ref: lot.parcel.ref, key: "area", points: lot.parcel.points } : null;
    const entry = lot.entries.find((each) => `entry ${each.id}` === id);
    if (entry) return entry.ref && !entry.taped ? { id, ref: entry.ref, key: "at", points: [entry.at] } : null;
    const way = lot.ways.find((each) => each.id === id);
    if (way) return { id, ref: way.ref, key: "at", points: [way.at], way: true };
    const thing = lot.things.find((each) => each.id === id);
    // what goes by its walls is moved as a whole, by its first corner
    if (thing?.ref && thing.key === "walls" && Array.isArray(thing.says.corner) && thing.is === "Polygon") return { id, ref: thing.ref, key: "area", points: thing.rings[0].slice(0, -1), whole: true };
    return thing && thing.points && thing.ref ? { id, ref: thing.ref, key: thing.key, points: thing.points, unruled: Boolean(thing.of) } : null;
  }

  choose(id, corner = null) {
    this.app.selected = id;
    this.app.corner = corner;
    for (const group of this.app.board.world.querySelectorAll(".thing")) group.classList.toggle("chosen", group.dataset.id === id);
    for (const button of at("list").querySelectorAll("button")) button.setAttribute("aria-pressed", String(button.dataset.thing === id));
    // along a line that is chosen its length stands where its name would
    this.app.lot.things.forEach((thing, index) => this.app.names.children[index]?.setAttribute("opacity", thing.id === id && thing.is.endsWith("LineString") ? 0 : 1));
    this.showHandles();
    this.app.showForm();
  }

  showHandles() {
    const { selected, corner, board, tool } = this.app;
    const target = selected && tool === "move" && !this.moving ? this.target(selected) : this.moving?.target;
    this.handles.replaceChildren();
    this.showLengths();
    if (!target || target.whole) return;
    const points = this.moving ? this.moving.points : target.points;
    const closed = target.key === "area";
    points.forEach((point, index) => {
      const [x, y] = board.seen(point), next = points[index + 1] || (closed && points.length > 2 ? points[0] : null);
      // a trench is mostly shifted as a whole: it gets a bend from a handle beside an end that was chosen
      if (next && !this.moving && target.key !== "at" && !(target.laid && corner === null)) {
        const [mx, my] = board.seen([(point[0] + next[0]) / 2, (point[1] + next[1]) / 2]);
        if (Math.hypot(mx - x, my - y) > 24) this.handles.append(svg("circle", { class: "handle between", cx: mx, cy: my, r: 5, "data-between": index }));
      }
      this.handles.append(svg("circle", { class: `handle${index === corner ? " chosen" : ""}`, cx: x, cy: y, r: 8, "data-corner": index }));
    });
  }

  // Sides of what is chosen or moved, and the tapes by which it is placed.
  showLengths() {
    const { app, moving } = this, { lot, selected, tool } = app;
    if (moving) { put(this.lengths, moving.points.length > 1 ? sides(app, moving.points, moving.target.key === "area") : []); return; }
    const of = tool !== "move" ? null : selected === "parcel" ? lot.parcel && { rings: lot.parcel.rings, is: "Polygon" }
      : lot.things.find((each) => each.id === selected) || lot.entries.find((each) => `entry ${each.id}` === selected);
    const area = of?.is?.endsWith("Polygon");
    put(this.lengths, of ? [tapes(app, of.tapes || []), (of.rings || []).map((ring) => ring.length > 1 ? sides(app, area ? ring.slice(0, -1) : ring, area) : [])] : []);
  }

  // --- by mouse or finger

  take(event) {
    if (this.app.tool !== "move") return false;
    const { corner, between } = event.target.dataset || {};
    const group = event.target.closest?.("[data-id]");
    const onHandle = corner !== undefined || between !== undefined;
    const near = onHandle ? null : this.near(event, group);
    const id = onHandle ? this.app.selected : near?.id || group?.dataset.id;
    const target = id && this.target(id);
    // what tapes hold stays, and so does the board under it: dragged, it says why
    this.held = !target && this.isHeld(id) ? id : null;
    if (this.held) return true;
    if (!id) this.sayLaid(near);
    // a well or a tree is dragged at once; what has corners is chosen first, so that no house is moved by mistake, and by finger a bore: a field of them is in the way of moving the board
    const alone = target?.points.length === 1 && (!target.laid || event.pointerType === "mouse");
    if (!target || (!onHandle && (id === "parcel" || (id !== this.app.selected && !alone)))) return false;
    if (id !== this.app.selected) this.choose(id);
    const points = target.points.map((point) => [...point]);
    let index = corner === undefined ? null : Number(corner);
    const from = this.app.board.ground(event);
    if (between !== undefined) { index = Number(between) + 1; points.splice(index, 0, from); }
    this.moving = { target, points, start: points.map((point) => [...point]), from, index };
    return true;
  }

  // What is laid out there: of a tree or line that lies over it that is meant, of an area what lies in it, and what is a point on a line: an outfall at a stream.
  near(event, group) {
    const thing = this.app.lot.things.find((each) => each.id === group?.dataset.id);
    const there = laidNear(this.app, event), over = group && group.dataset.id !== "parcel" && !(thing?.is.endsWith("Polygon") && thing.id !== this.app.selected);
    return over && !(there?.point && thing?.is === "LineString") ? null : there;
  }

  // Whether a thing lies where its tapes say: a well or a tree, or what is chosen already.
  isHeld(id) {
    const { lot, selected } = this.app;
    const thing = lot.things.find((each) => each.id === id) || lot.entries.find((each) => `entry ${each.id}` === id);
    return Boolean(thing?.taped && thing.ref && (thing.is === "Point" || thing.at || id === selected));
  }

  drag(event) {
    if (!this.moving) {
      if (this.held !== this.app.selected) this.choose(this.held);
      this.app.say("It lies where its tapes say: type them over, or let it go by coordinates.");
      return;
    }
    this.spot = this.app.board.ground(event);
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => { this.asked = false; this.follow(); });
  }

  follow() {
    const { moving } = this;
    if (!moving) return;
    const { lot, board, ground } = this.app, { index, start, from, target } = moving;
    const single = index !== null || start.length === 1;
    const at = index ?? 0;
    let snapped = false;
    if (single) {
      const count = start.length, closed = target.key === "area";
      const near = (step) => closed ? start.at((at + step + count * 2) % count) : start[at + step];
      const about = { lot, scale: board.scale, without: target.id, before: count > 1 ? [near(-1), near(-2)] : [], after: count > 1 ? [near(1), near(2)] : [] };
      const wished = [start[at][0] + this.spot[0] - from[0], start[at][1] + this.spot[1] - from[1]];
      [moving.points[at], snapped] = snap(wished, about);
    } else {
      moving.points = start.map(([x, y]) => [x + this.spot[0] - from[0], y + this.spot[1] - from[1]]);
    }
    this.sketch(moving.points, target);
    if (!moving.faded) this.fade(target.id);
    moving.faded = true;
    ground.move(target.id, moving.points);
    this.showHandles();
    if (snapped) {
      const [x, y] = board.seen(moving.points[at]);
      this.handles.append(svg("circle", { class: "snapped", cx: x, cy: y, r: 13 }));
    }
    this.app.tellPlace(moving.points[at]);
    this.opinion(target, moving.points);
  }

  sketch(points, target) {
    const { board } = this.app;
    this.drawn ??= svg("path", { class: "sketch" });
    this.drawn.classList.toggle("open", target.key !== "area");
    this.drawn.setAttribute("d", outline([points], target.key === "area"));
    if (!this.drawn.isConnected) board.world.append(this.drawn);
  }

  // The second opinion on the layout already drawn, of the newest place alone: asked thirty times a second, though an answer may take longer than that.
  async opinion(target, points) {
    this.waiting = { id: target.id, points: points.map((point) => [...point]) };
    if (this.asks || target.way || target.unruled || target.id.startsWith("entry ")) return;
    this.asks = true;
    let due = performance.now();
    while (this.waiting) {
      if (this.under < MOST_UNDER_WAY) {
        this.ask(this.waiting);
        this.waiting = null;
      }
      // each at its own time: a late one does not put off the next
      due = Math.max(due + OPINION_MS, performance.now());
      await new Promise((done) => setTimeout(done, due - performance.now()));
    }
    this.asks = false;
  }

  async ask({ id, points }) {
    const number = ++this.number;
    this.under++;
    try {
      const told = await act("moved", { moved: { [id]: points } });
      if (number > this.heard) {
        this.heard = number;
        this.app.showOpinion(told);
        performance.mark("opinion");
      }
    } catch { /* the lot has changed, or the server is gone: letting go tells */ }
    this.under--;
  }

  // Where a thing was is seen faintly while it is dragged, and until the server has drawn it anew.
  fade(id) {
    for (const group of this.app.board.world.querySelectorAll(".thing")) if (group.dataset.id === id) group.classList.add("moving");
    const index = this.app.lot.things.findIndex((thing) => thing.id === id);
    this.app.names.children[index]?.setAttribute("opacity", 0.18);
  }

  drop(event) {
    const { moving } = this;
    this.moving = this.waiting = null;
    this.heard = this.number; // what is told later is of a drag that is over
    if (!moving || !event) this.drawn?.remove();
    if (!moving) return;
    if (!event) { this.app.say(""); this.app.redden([], []); this.app.show(); return; }
    performance.mark("released");
    const { target, points } = moving;
    this.app.say("");
    this.app.redden([], []);
    this.app.stale();
    this.app.change([placed(target, points)]);
  }

  tap(event, under) {
    if (this.moving) { this.moving = null; this.drawn?.remove(); }
    const { corner } = under.dataset || {};
    if (corner !== undefined) { this.choose(this.app.selected, Number(corner)); return; }
    const group = under.closest?.("[data-id]"), near = this.near(event, group), id = near?.id || group?.dataset.id || null;
    this.choose(id);
    this.app.say("");
    if (!id) this.sayLaid(near);
    else if (near?.id) this.app.say(`${near.name}: drag it to where it shall stand.`);
  }

  // What is said of a well that is tapped: it lies where the plan has laid it out.
  sayLaid(near) { if (near) this.app.say(`${near.name} lies where the plan has laid it out. Why not here? tells where else one may lie.`); }

  // --- by key

  key(event) {
    const { lot, selected, corner } = this.app;
    if (this.moving && event.key === "Escape") { this.app.board.letGo(); this.drop(null); return true; }
    const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const target = selected && this.target(selected);
    if (steps[event.key] && target) {
      const size = lot.unit.metres * (event.shiftKey ? 10 : 1);
      this.nudge(selected, corner, steps[event.key].map((step) => step * size));
      return true;
    }
    if (event.key === "n" || event.key === "N") {
      const all = this.app.everything();
      const step = event.shiftKey ? -1 : 1;
      if (all.length) this.choose(all.at((all.indexOf(selected) + step + all.length) % all.length));
      return true;
    }
    if (event.key === "c" && target && !target.whole && target.points.length > 1) {
      this.choose(selected, corner === null || corner + 1 >= target.points.length ? 0 : corner + 1);
      return true;
    }
    if ((event.key === "Delete" || event.key === "Backspace") && target) { this.remove(); return true; }
    if (event.key === "Escape") { this.choose(null); return true; }
    return false;
  }

  // Steps of a key that is held add up while one is on its way.
  nudge(id, corner, by) {
    const known = this.steps;
    if (known && known.turn === this.app.turn && known.id === id && known.corner === corner) { known.by = known.by.map((sum, axis) => sum + by[axis]); return; }
    const mine = this.steps = { id, corner, by };
    this.app.change(() => {
      if (this.steps === mine) this.steps = null;
      const now = this.target(id), [dx, dy] = mine.by;
      return now ? [placed(now, now.points.map(([x, y], index) => corner === null || corner === index ? [x + dx, y + dy] : [x, y]))] : [];
    });
    mine.turn = this.app.turn;
  }

  remove() {
    const { selected, corner, lot } = this.app;
    const target = this.target(selected);
    const least = { line: 2, area: 3 }[target?.key];
    if (target && corner !== null && target.points.length > least) {
      const points = target.points.filter((_, index) => index !== corner);
      this.app.corner = null;
      this.app.change([placed(target, points)]);
      return;
    }
    if (target?.laid) { if (target.laid.kind !== "well") this.app.selected = null; this.app.change([placed(target, [])]); return; }
    const entry = lot.entries.find((each) => `entry ${each.id}` === selected);
    const ref = target?.ref || lot.things.find((each) => each.id === selected)?.ref || entry?.ref;
    if (!ref || selected === "parcel") return;
    this.app.selected = null;
    this.app.change([{ op: "delete", ref }]);
  }
}
