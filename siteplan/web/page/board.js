// The board: where the lot lies on the screen. The only module that turns pixels into metres.
import { svg } from "./dom.js";

const STEP = 1.3, NEAREST = 400, FARTHEST = 0.05;

export class Board {
  constructor(element) {
    this.element = element;
    this.world = svg("g", { id: "world" });
    this.over = svg("g", { id: "over" });
    this.defs = svg("defs");
    element.append(this.defs, this.world, this.over);
    this.x = 0; this.y = 0; this.scale = 4;
    this.watchers = [];
    this.down = new Map();
    this.wire();
    this.measure();
    new ResizeObserver(() => { this.measure(); this.show(); }).observe(element);
  }

  // Asked once where it changes: each asking has the browser lay out the whole page.
  measure() { const { width, height } = this.element.getBoundingClientRect(); this.size = [width || 800, height || 600]; }

  show() {
    const [width, height] = this.size;
    const left = width / 2 - this.x * this.scale, top = height / 2 + this.y * this.scale;
    this.world.setAttribute("transform", `matrix(${this.scale} 0 0 ${-this.scale} ${left} ${top})`);
    for (const watcher of this.watchers) watcher(this);
  }

  seen([x, y]) {
    const [width, height] = this.size;
    return [width / 2 + (x - this.x) * this.scale, height / 2 - (y - this.y) * this.scale];
  }

  ground(event) {
    const box = this.element.getBoundingClientRect(), [width, height] = this.size;
    return [this.x + (event.clientX - box.left - width / 2) / this.scale, this.y - (event.clientY - box.top - height / 2) / this.scale];
  }

  // `below`: pixels at the lower edge that are left to what is told there.
  fit(points, below = 0) {
    if (!points.length) points = [[0, 0], [60, 60]];
    const xs = points.map((point) => point[0]), ys = points.map((point) => point[1]);
    const [west, east] = [Math.min(...xs), Math.max(...xs)], [south, north] = [Math.min(...ys), Math.max(...ys)];
    const [width, whole] = this.size, height = Math.max(whole - below, whole / 2);
    this.scale = 0.86 * Math.min(width / Math.max(east - west, 5), height / Math.max(north - south, 5));
    this.x = (west + east) / 2;
    this.y = (south + north) / 2 - (whole - height) / 2 / this.scale;
    this.show();
  }

  zoom(factor, spot = null) {
    const wanted = Math.min(NEAREST, Math.max(FARTHEST, this.scale * factor));
    if (spot) {
      this.x = spot[0] + (this.x - spot[0]) * this.scale / wanted;
      this.y = spot[1] + (this.y - spot[1]) * this.scale / wanted;
    }
    this.scale = wanted;
    this.show();
  }

  // A finger or mouse on what can be moved is for whoever moves it; elsewhere it moves the board.
  wire() {
    const board = this.element;
    board.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.zoom(event.deltaY < 0 ? STEP : 1 / STEP, this.ground(event));
    }, { passive: false });
    board.addEventListener("pointerdown", (event) => {
      // once captured, every later event is the board's own: what lies under is known now alone
      this.under = event.target;
      board.setPointerCapture(event.pointerId);
      this.down.set(event.pointerId, event);
      this.wandered = false;
      this.taken = this.down.size === 1 && this.take?.(event);
      if (this.down.size === 2) { this.drop?.(null); this.taken = false; this.wandered = true; }
    });
    board.addEventListener("pointermove", (event) => {
      const before = this.down.get(event.pointerId);
      if (!before) { this.hover?.(event); return; }
      if (!this.wandered && Math.hypot(event.clientX - before.clientX, event.clientY - before.clientY) < 4) return;
      this.wandered = true;
      if (this.taken) { this.drag?.(event); return; }
      if (this.down.size === 2) this.pinch(event);
      else {
        this.x -= (event.clientX - before.clientX) / this.scale;
        this.y += (event.clientY - before.clientY) / this.scale;
        this.down.set(event.pointerId, event);
        this.show();
      }
    });
    board.addEventListener("pointerleave", () => this.leave?.());
    for (const name of ["pointerup", "pointercancel"]) board.addEventListener(name, (event) => {
      if (!this.down.delete(event.pointerId)) return;
      const taken = this.taken;
      this.taken = false;
      if (taken && this.wandered) this.drop?.(name === "pointerup" ? event : null);
      else if (name === "pointerup" && !this.wandered) this.tap?.(event, this.under);
    });
  }

  // What is held is let go, wherever it is.
  letGo() { this.taken = false; this.down.clear(); }

  pinch(event) {
    const far = () => { const [one, other] = [...this.down.values()]; return Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY); };
    const before = far();
    this.down.set(event.pointerId, event);
    const now = far(), [one, other] = [...this.down.values()];
    const middle = { clientX: (one.clientX + other.clientX) / 2, clientY: (one.clientY + other.clientY) / 2 };
    if (before > 0 && now > 0) this.zoom(now / before, this.ground(middle));
  }
}

export { STEP };
