// Where the plan is looked at from: `x`, `y` the middle of the window in metres from the drawing's origin, `scale`
// pixels for a metre, `w`, `h` the window in pixels. Plans go up the page, pixels go down.

const CLOSEST = 2000; // pixels for a metre: a millimetre is two pixels
const FARTHEST = 0.05;
const MARGIN = 0.05; // share of the window left free round what is shown whole
const FOOT_PX = 56; // the buttons along the bottom of the window

export const toScreen = (v, [x, y]) => [(x - v.x) * v.scale + v.w / 2, (v.y - y) * v.scale + v.h / 2];
export const toPlan = (v, [px, py]) => [(px - v.w / 2) / v.scale + v.x, v.y - (py - v.h / 2) / v.scale];
export const moved = (v, dx, dy) => ({ ...v, x: v.x - dx / v.scale, y: v.y + dy / v.scale });

/** Nearer (factor > 1) or farther, the point under the pixel staying where it is. */
export function zoomed(v, factor, [px, py]) {
  const scale = Math.min(CLOSEST, Math.max(FARTHEST, v.scale * factor));
  const [x, y] = toPlan(v, [px, py]);
  return { ...v, scale, x: x - (px - v.w / 2) / scale, y: y + (py - v.h / 2) / scale };
}

/** All of a box [x0, y0, x1, y1] in view. */
export function fitted(v, [x0, y0, x1, y1], closest = CLOSEST) {
  const wide = Math.max(x1 - x0, 0.5);
  const high = Math.max(y1 - y0, 0.5);
  const scale = Math.min(closest, (v.w * (1 - 2 * MARGIN)) / wide, ((v.h - FOOT_PX) * (1 - 2 * MARGIN)) / high);
  return { ...v, scale: Math.max(FARTHEST, scale), x: (x0 + x1) / 2, y: (y0 + y1) / 2 - FOOT_PX / 2 / scale };
}

/** The box in metres that is in view. */
export function boxOf(v) {
  const [x0, y1] = toPlan(v, [0, 0]);
  const [x1, y0] = toPlan(v, [v.w, v.h]);
  return [x0, y0, x1, y1];
}

export const holds = ([a0, b0, a1, b1], [x0, y0, x1, y1]) => a0 <= x0 && b0 <= y0 && a1 >= x1 && b1 >= y1;
