"use strict";
(() => {
  const frames = JSON.parse(document.getElementById("frames").textContent);
  const board = document.getElementById("board");
  const reading = document.getElementById("reading");
  const tape = document.getElementById("tape");
  const tabs = [...document.querySelectorAll("[data-sheet]")];
  const FARTHEST = 1, NEAREST = 60, STEP = 1.4, TURN = Math.PI / 180;
  const homes = new Map();
  let sheet = null, taping = false, from = null, line = null;

  // --- which sheet is shown, and which part of it

  function show(number) {
    for (const tab of tabs) {
      const chosen = tab.dataset.sheet === number;
      tab.setAttribute("aria-selected", String(chosen));
      tab.tabIndex = chosen ? 0 : -1;
      document.getElementById(tab.dataset.sheet).classList.toggle("shown", chosen);
    }
    sheet = document.getElementById(number);
    if (!homes.has(number)) homes.set(number, sheet.getAttribute("viewBox").split(" ").map(Number));
    letGo();
  }

  const home = () => homes.get(sheet.id);
  const seen = () => sheet.getAttribute("viewBox").split(" ").map(Number);
  const see = (box) => sheet.setAttribute("viewBox", box.map((value) => value.toFixed(3)).join(" "));

  function place(event) {
    const spot = new DOMPoint(event.clientX, event.clientY);
    return spot.matrixTransform(sheet.getScreenCTM().inverse());
  }

  function zoom(factor, at) {
    const [left, top, width, height] = seen();
    const [, , whole] = home();
    const wanted = Math.min(whole / FARTHEST, Math.max(whole / NEAREST, width / factor));
    const share = wanted / width;
    const x = at ? at.x : left + width / 2, y = at ? at.y : top + height / 2;
    see([x - (x - left) * share, y - (y - top) * share, width * share, height * share]);
  }

  function move(across, down) {
    const [left, top, width, height] = seen();
    see([left + across, top + down, width, height]);
  }

  // --- the tape: paper millimetres to lengths on the ground

  function ground(spot) {
    const frame = frames.sheets[sheet.id];
    const [left, bottom, width, height] = frame.window;
    const aside = spot.x - left - width / 2, up = frame.height - spot.y - bottom - height / 2;
    const cosine = Math.cos(frame.turn * TURN), sine = Math.sin(frame.turn * TURN);
    return {
      x: (aside * cosine + up * sine) * frame.metres + frame.center[0],
      y: (up * cosine - aside * sine) * frame.metres + frame.center[1],
    };
  }

  function inWindow(spot) {
    const frame = frames.sheets[sheet.id];
    const [left, bottom, width, height] = frame.window;
    const up = frame.height - spot.y;
    return frame.plan && spot.x >= left && spot.x <= left + width && up >= bottom && up <= bottom + height;
  }

  const shown = (metres) => (metres / frames.metres).toFixed(Math.max(1, frames.decimals));

  function letGo() {
    from = null;
    if (line) line.remove();
    line = null;
    reading.textContent = taping ? "Tap the first point." : "";
  }

  function measure(spot, done) {
    if (!inWindow(spot)) {
      reading.textContent = "Measure on the plan: this is no part of it.";
      return;
    }
    if (!from) {
      if (!done) return;
      if (line) line.remove();
      from = spot;
      line = document.createElementNS("http://www.w3.org/2000/svg", "line");
      line.setAttribute("class", "measured");
      sheet.append(line);
    }
    for (const [name, value] of [["x1", from.x], ["y1", from.y], ["x2", spot.x], ["y2", spot.y]]) line.setAttribute(name, value);
    const first = ground(from), second = ground(spot);
    const away = Math.hypot(second.x - first.x, second.y - first.y);
    const bearing = (Math.atan2(second.x - first.x, second.y - first.y) / TURN + 360) % 360;
    const unit = frames.unit;
    reading.textContent = away === 0
      ? `E ${shown(first.x)} N ${shown(first.y)} ${unit}; tap the second point.`
      : `${shown(away)} ${unit}, ${bearing.toFixed(1)}° from plan north; to E ${shown(second.x)} N ${shown(second.y)} ${unit}`;
    if (done && away > 0) from = null;
  }

  function setTaping(on) {
    taping = on;
    tape.setAttribute("aria-pressed", String(on));
    board.classList.toggle("taping", on);
    letGo();
  }

  // --- fingers and mouse

  const down = new Map();
  let start = null, wandered = false;

  board.addEventListener("pointerdown", (event) => {
    board.setPointerCapture(event.pointerId);
    down.set(event.pointerId, event);
    start = place(event);
    wandered = false;
  });

  board.addEventListener("pointermove", (event) => {
    if (!down.has(event.pointerId)) {
      if (taping && from) measure(place(event), false);
      return;
    }
    const before = down.get(event.pointerId);
    if (Math.hypot(event.clientX - before.clientX, event.clientY - before.clientY) < 3 && !wandered) return;
    wandered = true;
    if (down.size === 2) {
      const [one, other] = [...down.values()];
      const apart = Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
      down.set(event.pointerId, event);
      const [first, second] = [...down.values()];
      const now = Math.hypot(first.clientX - second.clientX, first.clientY - second.clientY);
      const middle = { clientX: (first.clientX + second.clientX) / 2, clientY: (first.clientY + second.clientY) / 2 };
      if (apart > 0 && now > 0) zoom(now / apart, place(middle));
    } else {
      const old = place(before), now = place(event);
      move(old.x - now.x, old.y - now.y);
      down.set(event.pointerId, event);
    }
  });

  for (const name of ["pointerup", "pointercancel"]) {
    board.addEventListener(name, (event) => {
      if (down.delete(event.pointerId) && name === "pointerup" && taping && !wandered) measure(start, true);
    });
  }

  board.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(event.deltaY < 0 ? STEP : 1 / STEP, place(event));
  }, { passive: false });

  // --- keys and buttons

  const act = {
    nearer: () => zoom(STEP),
    farther: () => zoom(1 / STEP),
    whole: () => see(home()),
    tape: () => setTaping(!taping),
  };
  for (const [name, does] of Object.entries(act)) document.getElementById(name).addEventListener("click", does);

  board.addEventListener("keydown", (event) => {
    const [, , width, height] = seen();
    const keys = {
      "+": act.nearer, "=": act.nearer, "-": act.farther, "0": act.whole, m: act.tape,
      Escape: letGo,
      ArrowLeft: () => move(-width / 8, 0), ArrowRight: () => move(width / 8, 0),
      ArrowUp: () => move(0, -height / 8), ArrowDown: () => move(0, height / 8),
    };
    if (!keys[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    keys[event.key]();
  });

  tabs.forEach((tab, number) => {
    tab.addEventListener("click", () => show(tab.dataset.sheet));
    tab.addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (!step) return;
      const next = tabs[(number + step + tabs.length) % tabs.length];
      next.focus();
      show(next.dataset.sheet);
    });
  });

  for (const box of document.querySelectorAll("[data-layer-of]")) {
    box.addEventListener("change", () => {
      for (const group of document.querySelectorAll("g[data-layer]")) {
        if (group.dataset.layer === box.dataset.layerOf) group.classList.toggle("off", !box.checked);
      }
    });
  }

  show(tabs[0].dataset.sheet);
})();
