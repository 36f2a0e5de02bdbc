// What a tape shows: how long the sides are of what is drawn, moved or chosen, and the tapes that place it.
import { svg } from "./dom.js";
import { length } from "./forms.js";

const LETTER = 6.5, OFF = 11; // pixels: of a letter, and from a side to its length

const label = (words, x, y) => svg("text", { class: "measure", x, y: y + 4, "text-anchor": "middle", "font-size": 11 }, words);

// Where two lengths would run into one another, as at a step of a wall, that of the longer side is read.
function apart(found) {
  const kept = [];
  for (const each of [...found].sort(([one], [other]) => other - one)) {
    const [, words, x, y] = each, clash = ([, other, atX, atY]) => Math.abs(x - atX) < LETTER * (words.length + other.length) / 2 + 3 && Math.abs(y - atY) < 12;
    if (!kept.some(clash)) kept.push(each);
  }
  return found.filter((each) => kept.includes(each));
}

// Lengths of the sides of an outline or a line, outside of what it goes round or is about to.
export function sides({ board, lot }, points, closed) {
  const seen = points.map((point) => board.seen(point)), found = [];
  const turns = seen.reduce((sum, [x, y], at) => { const [toX, toY] = seen[(at + 1) % seen.length]; return sum + x * toY - toX * y; }, 0);
  for (let at = 0; at < points.length - (closed ? 0 : 1); at++) {
    const next = (at + 1) % points.length, [[x, y], [toX, toY]] = [seen[at], seen[next]], far = Math.hypot(toX - x, toY - y);
    const words = length(Math.hypot(points[next][0] - points[at][0], points[next][1] - points[at][1]), lot);
    if (far < LETTER * words.length) continue;
    const out = (turns < 0 ? -1 : 1) * (OFF + Math.abs(toY - y) / far * words.length * 2.5) / far;
    found.push([far, words, (x + toX) / 2 + (toY - y) * out, (y + toY) / 2 - (toX - x) * out]);
  }
  return apart(found).map(([, ...told]) => label(...told));
}

// Each tape from where it is laid to where it ends, with the length as it was typed.
export function tapes({ board }, laid) {
  return laid.map(([from, to, words]) => {
    const [[x1, y1], [x2, y2]] = [board.seen(from), board.seen(to)];
    return [svg("line", { class: "tape", x1, y1, x2, y2 }), Math.hypot(x2 - x1, y2 - y1) < LETTER * words.length ? null : label(words, (x1 + x2) / 2, (y1 + y2) / 2)];
  });
}
