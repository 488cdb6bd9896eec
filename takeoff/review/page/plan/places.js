// Where things are on the plan, in metres on the drawing's own axes.
import { look, openingOf, queryOf, roomOf, storeyOf } from "../store.js";

const ROUND_M = 1.2; // metres shown round a thing

/** {bounds, storey} of a thing, or null where it has no place. */
export function boundsOf(kind, ref) {
  const points = pointsOf(kind, ref);
  if (!points.length) return null;
  const xs = points.map((p) => p[0]),
    ys = points.map((p) => p[1]);
  const round = kind === "opening" || points.length === 1 ? 2 * ROUND_M : ROUND_M;
  const bounds = [Math.min(...xs) - round, Math.min(...ys) - round, Math.max(...xs) + round, Math.max(...ys) + round];
  return { bounds, storey: storeyOf(kind, ref) };
}

function pointsOf(kind, ref) {
  if (kind === "room") return roomOf(ref)?.outline ?? [];
  if (kind === "opening") return openingOf(ref)?.line ?? [];
  if (kind === "query") {
    const query = queryOf(ref);
    if (query?.at) return [query.at];
    const first = query?.about.find((r) => roomOf(r) || openingOf(r));
    return first ? pointsOf(roomOf(first) ? "room" : "opening", first) : [];
  }
  return [];
}

/** The point a query's flag stands on, or null: its own, else that of the first room or opening it is about. */
export function flagAt(query) {
  if (query.at) return query.at;
  for (const ref of query.about) {
    const place = roomOf(ref)?.label_at ?? openingOf(ref)?.at ?? roomOf(ref.split("-")[0])?.label_at;
    if (place) return place;
  }
  return null;
}

/** The box round the storey in view, or round all that is drawn. */
export function storeyBounds(state = look()) {
  const storey = state.plan?.plans.find((p) => p.ref === state.storey);
  if (storey) return storey.bounds;
  const [ox, oy] = state.plan?.origin ?? [0, 0];
  const [x0, y0, x1, y1] = state.plan?.bounds ?? [0, 0, 10, 10];
  return [x0 + ox, y0 + oy, x1 + ox, y1 + oy];
}

export function inRing([x, y], ring) {
  let inside = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [xi, yi] = ring[i],
      [xj, yj] = ring[j];
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
}

export const inRoom = (point, room) => inRing(point, room.outline) && !room.holes.some((hole) => inRing(point, hole));

/** The room at a point (the smallest where one lies in another), or null. */
export function roomAt(point, rooms) {
  const hits = rooms.filter((room) => inRoom(point, room));
  return hits.sort((a, b) => a.area_m2 - b.area_m2)[0] ?? null;
}

/** Distance from a point to a line's piece from a to b, and the nearest point on it. */
export function nearestOn([x, y], [ax, ay], [bx, by]) {
  const dx = bx - ax,
    dy = by - ay;
  const long = dx * dx + dy * dy;
  const t = long ? Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / long)) : 0;
  const at = [ax + t * dx, ay + t * dy];
  return { at, distance: Math.hypot(x - at[0], y - at[1]) };
}
