// What can be done to the drawing's reading by pointing at the plan: which points or rooms each tool asks for, in
// words, and which changes of the job file it comes to.
import { look, roomOf, say, set } from "../store.js";
import { inRoom, roomAt } from "./places.js";

const PAST_M = 0.02; // a dividing line is carried on this far past the walls, so that it reaches them
const REACH_M = 0.6; // and to the walls where it ends this near to them

export const TOOLS = {
  split: {
    title: "Split a room",
    points: 2,
    says: ["Point at one end of the dividing line.", "Point at its other end."],
  },
  join: { title: "Join rooms", points: 0, says: ["Point at the rooms that are one space, two or more."] },
  wall: {
    title: "Missing wall",
    points: 2,
    says: ["Point at one end of the wall.", "Point at its other end."],
  },
  opening: { title: "Mark an opening", points: 1, says: ["Point at the middle of the opening, on its wall."] },
  length: {
    title: "Set the scale",
    points: 2,
    says: ["Point at one end of a length you know.", "Point at its other end."],
  },
};

export function begin(name, rooms = []) {
  set({ tool: { name, points: [], rooms }, shown: null });
}

/** Puts the tool down; the keyboard is then on the plan again. */
export function stop() {
  set({ tool: null });
  document.querySelector(".plan__window")?.focus({ preventScroll: true });
}

/** The words for what the tool asks for next, or null where it has all it needs. */
export function asks(tool) {
  const { points, says } = TOOLS[tool.name];
  if (tool.name === "join") return tool.rooms.length < 2 ? says[0] : null;
  return tool.points.length < points ? says[tool.points.length] : null;
}

/** Gives the tool a point in metres on the drawing's axes. */
export function point(at) {
  const { tool, found, storey } = look();
  const rooms = found.rooms.filter((r) => r.plan === storey);
  if (tool.name === "join") return toggle(roomAt(at, rooms)?.ref);
  const full = tool.points.length >= TOOLS[tool.name].points;
  set({ tool: { ...tool, points: full ? [at] : [...tool.points, at] } });
}

/** Takes back the last point. */
export function pointBack() {
  const { tool } = look();
  if (tool.name === "join") set({ tool: { ...tool, rooms: tool.rooms.slice(0, -1) } });
  else set({ tool: { ...tool, points: tool.points.slice(0, -1) } });
}

export function toggle(ref) {
  const { tool } = look();
  if (!ref) return say("There is no room there.");
  const rooms = tool.rooms.includes(ref) ? tool.rooms.filter((r) => r !== ref) : [...tool.rooms, ref];
  set({ tool: { ...tool, rooms } });
}

// ---- what a tool comes to ------------------------------------------------------------------------------------

/** The room that a dividing line crosses, or null. */
export function splitRoom(tool, rooms) {
  const [[ax, ay], [bx, by]] = tool.points;
  return roomAt([(ax + bx) / 2, (ay + by) / 2], rooms);
}

/** Words for the part left of the line as drawn, and the other. */
export function partWords([[ax, ay], [bx, by]]) {
  const dx = bx - ax,
    dy = by - ay;
  if (Math.abs(dy) >= Math.abs(dx)) return dy > 0 ? ["left", "right"] : ["right", "left"];
  return dx > 0 ? ["upper", "lower"] : ["lower", "upper"];
}

export function splitChanges(tool, room, names) {
  return [{ op: "add", table: ["split"], row: { room: room.ref, line: wallToWall(tool.points, room), names } }];
}

/** A dividing line carried on at both ends to the walls of its room, and a little past them. */
function wallToWall([a, b], room) {
  return [mm(carriedOn(b, a, room)), mm(carriedOn(a, b, room))];
}

function carriedOn(from, end, room) {
  const long = Math.hypot(end[0] - from[0], end[1] - from[1]) || 1;
  const way = [(end[0] - from[0]) / long, (end[1] - from[1]) / long];
  const rest = inRoom(end, room) ? toOutline(end, way, room) : 0;
  const far = PAST_M + (rest <= REACH_M ? rest : 0);
  return [end[0] + way[0] * far, end[1] + way[1] * far];
}

/** How far it is from a point along a way to the outline of the room. */
function toOutline([x, y], [dx, dy], room) {
  let least = Infinity;
  for (const ring of [room.outline, ...room.holes])
    ring.forEach(([ax, ay], i) => {
      const [bx, by] = ring[(i + 1) % ring.length];
      const across = dx * (by - ay) - dy * (bx - ax);
      if (!across) return;
      const along = ((ax - x) * (by - ay) - (ay - y) * (bx - ax)) / across;
      const on = ((ax - x) * dy - (ay - y) * dx) / across;
      if (along >= 0 && on >= 0 && on <= 1) least = Math.min(least, along);
    });
  return least;
}

const mm = ([x, y]) => [Math.round(x * 1e4) / 1e4, Math.round(y * 1e4) / 1e4];

export function joinChanges(tool, name) {
  return [{ op: "add", table: ["join"], row: { rooms: tool.rooms, ...(name ? { name } : {}) } }];
}

export function wallChanges(tool, thickness) {
  return [{ op: "add", table: ["wall"], row: { line: tool.points.map(mm), thickness } }];
}

export function openingChanges(tool, sizes) {
  return [{ op: "add", table: ["opening"], row: { at: mm(tool.points[0]), ...sizes } }];
}

/** The two points go into the job file in the drawing's own numbers, whatever its unit turns out to be. */
export function lengthChanges(tool, length, metresPerUnit) {
  const own = ([x, y]) => [x / metresPerUnit, y / metresPerUnit].map((v) => Math.round(v * 1e6) / 1e6);
  const [from, to] = tool.points.map(own);
  return [
    { op: "unset", key: ["drawing", "unit"] }, // the job file gives one of the two
    { op: "set", key: ["drawing", "known_length"], value: { from, to, length } },
  ];
}

export const lengthOf = ([a, b]) => Math.hypot(b[0] - a[0], b[1] - a[1]);

export const joinNames = (tool) => tool.rooms.map((ref) => roomOf(ref)?.name).filter(Boolean);
