// Where a point goes that is set near something drawn: first the ends of lines, then the lines themselves, then what
// the reading left out, such as furniture, then straight across or up from the point before.
import { squaresIn } from "./drawing.js";
import { nearestOn } from "./places.js";

const END_PX = 12;
const LINE_PX = 7;
const STRAIGHT_PX = 6;

/**
 * `point` in metres on the drawing's axes; `scale` pixels for a metre; `before` the point set before, or null.
 * Returns {at, to}: where it goes, and "end", "line", "straight" or "" for what it went to.
 */
export function snapped(point, drawing, scale, before) {
  const local = [point[0] - drawing.origin[0], point[1] - drawing.origin[1]];
  const end = toEnd(local, drawing, END_PX / scale);
  const line = toLine(local, drawing, LINE_PX / scale);
  const hit = end && !(end.aside && line && !line.aside) ? end : line;
  if (hit) return { at: [hit.at[0] + drawing.origin[0], hit.at[1] + drawing.origin[1]], to: hit.to };
  const near = STRAIGHT_PX / scale;
  if (before && Math.abs(point[0] - before[0]) < near) return { at: [before[0], point[1]], to: "straight" };
  if (before && Math.abs(point[1] - before[1]) < near) return { at: [point[0], before[1]], to: "straight" };
  return { at: point, to: "" };
}

/** Walls, openings and texts come before what the reading left out, such as furniture. */
const nearer = (one, best) => !best || (one.aside === best.aside ? one.distance < best.distance : best.aside);

const around = ([x, y], r) => [x - r, y - r, x + r, y + r];

function toEnd(point, drawing, reach) {
  let best = null;
  for (const square of squaresIn(drawing, around(point, reach)))
    for (const end of drawing.endsIn(square)) {
      const at = [drawing.ends[end * 2], drawing.ends[end * 2 + 1]];
      const distance = Math.hypot(at[0] - point[0], at[1] - point[1]);
      const aside = drawing.isAside(end >> 1);
      if (distance <= reach && nearer({ distance, aside }, best)) best = { at, distance, aside, to: "end" };
    }
  return best;
}

function toLine(point, drawing, reach) {
  let best = null;
  const check = (i) => {
    const e = drawing.ends.subarray(i * 4, i * 4 + 4);
    const { at, distance } = nearestOn(point, [e[0], e[1]], [e[2], e[3]]);
    const aside = drawing.isAside(i);
    if (distance <= reach && nearer({ distance, aside }, best)) best = { at, distance, aside, to: "line" };
  };
  for (const square of squaresIn(drawing, around(point, reach + drawing.size / 2)))
    drawing.inSquare(square).forEach(check);
  drawing.long.forEach(check);
  return best;
}
