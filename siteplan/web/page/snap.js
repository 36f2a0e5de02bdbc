// Where a point goes that is dragged near a corner, a wall, a line, or a right angle.
const REACH = 9; // pixels

export function onLine([x, y], [ax, ay], [bx, by]) {
  const dx = bx - ax, dy = by - ay, long = dx * dx + dy * dy;
  const share = long ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / long)) : 0;
  return [ax + share * dx, ay + share * dy];
}

export const apart = (one, other) => Math.hypot(one[0] - other[0], one[1] - other[1]);

function edges(lot, without) {
  const rings = lot.things.filter((thing) => thing.id !== without).map((thing) => [thing.rings, thing.is.endsWith("Polygon")]);
  if (lot.parcel && without !== "parcel") rings.push([lot.parcel.rings, true]);
  return rings.flatMap(([some, closed]) => some.map((ring) => [ring, closed]));
}

// The place, and whether something held it; `before` and `after`: its neighbours in the same outline.
export function snap(spot, { lot, scale, without, before, after }) {
  const reach = REACH / scale;
  let best = null;
  const offer = (place, cost) => {
    const far = apart(place, spot);
    if (far <= reach && (!best || far + cost < best.far)) best = { place, far: far + cost };
  };
  for (const [ring, closed] of edges(lot, without)) {
    for (const corner of ring) offer(corner, 0);
    for (let i = closed ? 0 : 1; i < ring.length; i++) offer(onLine(spot, ring.at(i - 1), ring[i]), reach / 2);
  }
  for (const [near, far] of [before, after]) {
    if (!near) continue;
    // straight east, west, north or south of its neighbour, and square to the side beyond it
    offer([near[0], spot[1]], reach / 3);
    offer([spot[0], near[1]], reach / 3);
    if (!far || apart(near, far) === 0) continue;
    const dx = far[0] - near[0], dy = far[1] - near[1];
    const share = ((spot[0] - near[0]) * -dy + (spot[1] - near[1]) * dx) / (dx * dx + dy * dy);
    offer([near[0] - share * dy, near[1] + share * dx], reach / 4);
  }
  return best ? [best.place, true] : [spot, false];
}

// The side that a wall looks to: out of the ring, whichever way round that is drawn.
export function facing(ring, i) {
  const [x, y] = ring[i - 1], [toX, toY] = ring[i];
  const turns = ring.slice(1).reduce((sum, [bx, by], at) => sum + ring[at][0] * by - bx * ring[at][1], 0);
  const [east, north] = turns > 0 ? [toY - y, x - toX] : [y - toY, toX - x];
  return Math.abs(north) >= Math.abs(east) ? north > 0 ? "north" : "south" : east > 0 ? "east" : "west";
}

const ON = 0.05, OUT = 2; // metres: so near an end is on the property line; so far a drive goes on beyond it

// A line whose ends on a closed ring go on over it: a drive that ends on the property line may end at a fence.
export function overTheLine(points, ring = []) {
  const isOn = (end) => ring.slice(1).some((corner, at) => apart(end, onLine(end, ring[at], corner)) <= ON);
  const on = (end, before) => {
    const long = before && apart(end, before);
    return long && isOn(end) ? [[end[0] + (end[0] - before[0]) * OUT / long, end[1] + (end[1] - before[1]) * OUT / long]] : [];
  };
  return [...on(points[0], points[1]), ...points, ...on(points.at(-1), points.at(-2))];
}
