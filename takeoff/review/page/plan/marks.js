// The marks over the drawn lines: room tints and names, openings, angles, flags of queries, what is picked or pointed
// out, and the tool in hand. Every mark has a shape, a number or a word beside its colour.
import { area } from "../format.js";
import { segmentsOf } from "./drawing.js";
import { flagAt } from "./places.js";
import { partWords, splitRoom } from "./tools.js";
import { toScreen } from "./view.js";

const ANGLES_FROM = 28; // pixels for a metre below which angles are left out, unless their room is picked
const OPENING_NAMES_FROM = 55;
const UNSURE = 0.8; // rooms less sure than this have a broken outline and a question mark
const FLAG = { wide: 30, high: 20, pole: 14 };

/** Draws with a transform from metres on the drawing's axes; returns the function for screen points. */
function frameOf(view, origin) {
  return (point) => toScreen(view, [point[0] - origin[0], point[1] - origin[1]]);
}

/** Under the lines: tints. */
export function drawTints(ctx, view, state, colours) {
  const at = frameOf(view, state.plan.origin);
  const hatch = hatchOf(ctx, colours.leftOut);
  roomsHere(state).forEach((room, index) => {
    trace(ctx, room, at);
    ctx.fillStyle = room.measured ? colours.tints[index % colours.tints.length] : hatch;
    ctx.fill("evenodd");
  });
}

/** Over the lines: everything else. `pointer` is where the next point would go, or null. Returns places to hit. */
export function drawMarks(ctx, view, state, colours, pointer) {
  const pen = { ctx, view, state, colours, at: frameOf(view, state.plan.origin), hits: [], taken: [] };
  drawOutlines(pen);
  drawShown(pen);
  drawOpenings(pen);
  drawAngles(pen);
  drawFlags(pen);
  const split =
    state.tool?.name === "split" && state.tool.points.length === 2 && splitRoom(state.tool, roomsHere(state));
  for (const room of roomsHere(state)) if (room !== split) drawName(pen, room);
  if (state.tool) drawTool(pen, pointer);
  return pen.hits;
}

export const roomsHere = (state) => (state.found?.rooms ?? []).filter((r) => !state.storey || r.plan === state.storey);

function trace(ctx, room, at) {
  ctx.beginPath();
  for (const ring of [room.outline, ...room.holes]) {
    ring.forEach((point, i) => ctx[i ? "lineTo" : "moveTo"](...at(point)));
    ctx.closePath();
  }
}

const hatches = new Map();

/** A slanting hatch: rooms left out of the quantities are told by it, not by colour alone. */
function hatchOf(ctx, colour) {
  if (!hatches.has(colour)) {
    const tile = document.createElement("canvas");
    tile.width = tile.height = 8;
    const t = tile.getContext("2d");
    t.strokeStyle = colour;
    t.lineWidth = 1;
    for (const d of [-8, 0, 8]) {
      t.moveTo(d, 8);
      t.lineTo(d + 8, 0);
    }
    t.stroke();
    hatches.set(colour, ctx.createPattern(tile, "repeat"));
  }
  return hatches.get(colour);
}

function drawOutlines({ ctx, state, colours, at }) {
  for (const room of roomsHere(state)) {
    const picked = isPicked(state, "room", room.ref) || state.tool?.rooms.includes(room.ref);
    const unsure = room.sure < UNSURE;
    if (!picked && !unsure) continue;
    trace(ctx, room, at);
    ctx.setLineDash(unsure ? [9, 6] : []);
    ctx.lineWidth = picked ? 4 : 2;
    ctx.strokeStyle = picked ? colours.pick : colours.ink;
    ctx.stroke();
    ctx.setLineDash([]);
  }
}

const isPicked = (state, kind, ref) => state.picked?.kind === kind && state.picked.ref === ref;

/** Drawn things that a figure comes from: thick, with an edge that stands out on light and dark. */
function drawShown({ ctx, view, state, colours }) {
  if (!state.shown) return;
  const { plan } = state;
  const path = new Path2D();
  for (const i of segmentsOf(plan, state.shown.handles)) {
    path.moveTo(...toScreen(view, [plan.ends[i * 4], plan.ends[i * 4 + 1]]));
    path.lineTo(...toScreen(view, [plan.ends[i * 4 + 2], plan.ends[i * 4 + 3]]));
  }
  for (const line of state.shown.lines ?? []) {
    const at = frameOf(view, plan.origin);
    line.forEach((p, i) => path[i ? "lineTo" : "moveTo"](...at(p)));
  }
  ctx.lineCap = "round";
  for (const [width, colour] of [
    [9, colours.showEdge],
    [5, colours.show],
  ]) {
    ctx.lineWidth = width;
    ctx.strokeStyle = colour;
    ctx.stroke(path);
  }
  ctx.lineCap = "butt";
}

function drawOpenings(pen) {
  const { ctx, view, state, colours, at, hits } = pen;
  const here = new Set(roomsHere(state).map((r) => r.ref));
  for (const opening of state.found.openings) {
    if (opening.plan ? opening.plan !== state.storey : opening.rooms.length && !opening.rooms.some((r) => here.has(r)))
      continue;
    const [a, b] = opening.line.map(at);
    const middle = at(opening.at);
    if (off(view, middle)) continue;
    const picked = isPicked(state, "opening", opening.ref);
    ctx.strokeStyle = picked ? colours.pick : colours.opening[opening.kind];
    ctx.fillStyle = ctx.strokeStyle;
    ctx.lineWidth = picked ? 6 : 3;
    ctx.setLineDash(opening.kind === "opening" ? [6, 4] : []);
    line(ctx, a, b);
    ctx.setLineDash([]);
    if (opening.ignored) cross(ctx, middle, 7);
    else if (view.scale >= OPENING_NAMES_FROM || picked) chip(pen, middle, opening.ref, ctx.strokeStyle);
    else if (view.scale > 12) shape(ctx, opening.kind, middle, colours.paper);
    hits.push({ kind: "opening", ref: opening.ref, at: middle, reach: 13 });
  }
}

const off = (view, [x, y]) => x < -60 || y < -60 || x > view.w + 60 || y > view.h + 60;

function line(ctx, a, b) {
  ctx.beginPath();
  ctx.moveTo(...a);
  ctx.lineTo(...b);
  ctx.stroke();
}

function cross(ctx, [x, y], r) {
  ctx.lineWidth = 3;
  line(ctx, [x - r, y - r], [x + r, y + r]);
  line(ctx, [x - r, y + r], [x + r, y - r]);
}

/** Door round, window square, rooflight a square on its corner, plain opening a ring. */
function shape(ctx, kind, [x, y], paper) {
  const r = 4.5;
  ctx.beginPath();
  if (kind === "window") ctx.rect(x - r, y - r, 2 * r, 2 * r);
  else if (kind === "rooflight") {
    ctx.moveTo(x, y - r - 1.5);
    ctx.lineTo(x + r + 1.5, y);
    ctx.lineTo(x, y + r + 1.5);
    ctx.lineTo(x - r - 1.5, y);
    ctx.closePath();
  } else ctx.arc(x, y, r, 0, 2 * Math.PI);
  if (kind === "opening") ctx.fillStyle = paper;
  ctx.fill();
  ctx.lineWidth = 1.5;
  ctx.stroke();
}

function chip({ ctx, colours }, [x, y], text, edge) {
  ctx.font = "600 11px system-ui, sans-serif";
  const wide = ctx.measureText(text).width + 10;
  ctx.beginPath();
  ctx.roundRect(x - wide / 2, y - 9, wide, 18, 4);
  ctx.fillStyle = colours.paper;
  ctx.fill();
  ctx.strokeStyle = edge;
  ctx.lineWidth = 2;
  ctx.stroke();
  ctx.fillStyle = colours.ink;
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  ctx.fillText(text, x, y + 0.5);
}

/** External angles, which take a bead, are full triangles; internal ones small open squares. */
function drawAngles({ ctx, view, state, colours, at }) {
  const here = new Set(roomsHere(state).map((r) => r.ref));
  const picked = state.picked?.kind === "room" ? state.picked.ref : null;
  const all = state.marks.angles && view.scale > ANGLES_FROM;
  for (const angle of state.found.angles) {
    if (!here.has(angle.room) || !(all || angle.room === picked)) continue;
    const [x, y] = at(angle.at);
    if (off(view, [x, y])) continue;
    ctx.beginPath();
    if (angle.kind === "external") {
      ctx.moveTo(x, y - 7);
      ctx.lineTo(x + 6.5, y + 5);
      ctx.lineTo(x - 6.5, y + 5);
      ctx.closePath();
      ctx.fillStyle = colours.pick;
    } else {
      ctx.rect(x - 3.5, y - 3.5, 7, 7);
      ctx.fillStyle = colours.paper;
    }
    ctx.fill();
    ctx.lineWidth = 1.5;
    ctx.strokeStyle = colours.ink;
    ctx.stroke();
  }
}

function drawName(pen, room) {
  const { ctx, view, state, colours, at } = pen;
  const [x, y] = at(room.label_at);
  if (off(view, [x, y])) return;
  const picked = isPicked(state, "room", room.ref);
  const xs = room.outline.map((p) => p[0]);
  const space = 2 * Math.min(room.label_at[0] - Math.min(...xs), Math.max(...xs) - room.label_at[0]) * view.scale;
  const lines = wordsFor(ctx, room, Math.max(space, picked ? 120 : 0));
  const box = () => boxOf([x, y], Math.max(...lines.map((l) => l.wide)) + 12, lines.length * 15 + 5);
  while (lines.length && !picked && pen.taken.some((other) => overlap(other, box()))) lines.pop();
  if (!lines.length) return;
  pen.taken.push(box());
  const [, , wide, high] = box();
  ctx.beginPath();
  ctx.roundRect(x - wide / 2, y - high / 2, wide, high, 5);
  ctx.fillStyle = picked ? colours.pick : colours.chip;
  ctx.fill();
  ctx.fillStyle = picked ? colours.paper : colours.ink;
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  lines.forEach((l, i) => {
    ctx.font = l.font;
    ctx.fillText(l.text, x, y - high / 2 + 10.5 + i * 15);
  });
}

const boxOf = ([x, y], wide, high) => [x - wide / 2, y - high / 2, wide, high];
const overlap = ([ax, ay, aw, ah], [bx, by, bw, bh]) => ax < bx + bw && bx < ax + aw && ay < by + bh && by < ay + ah;

const NAME = "600 13px system-ui, sans-serif";
const FIGURE = "12px system-ui, sans-serif";

/** As much of ref, name and area as fits a room so many pixels wide. */
function wordsFor(ctx, room, pixels) {
  const doubt = room.sure < UNSURE ? " ?" : "";
  const sized = (text, font) => {
    ctx.font = font;
    return { text, font, wide: ctx.measureText(text).width };
  };
  const ref = sized(room.ref + doubt, NAME);
  if (pixels < ref.wide + 8) return [];
  const full = sized(`${room.ref}${room.name ? ` ${room.name}` : ""}${doubt}`, NAME);
  const figure = sized(area(room.area_m2) + (room.measured ? "" : " · left out"), FIGURE);
  const lines = [full.wide < pixels ? full : ref];
  if (figure.wide < pixels) lines.push(figure);
  return lines;
}

function drawFlags(pen) {
  const { view, state, at, hits, taken } = pen;
  for (const query of state.found.queries) {
    const place = flagAt(query);
    if (!place || (query.plan && query.plan !== state.storey)) continue;
    const room = query.about.map((r) => state.found.rooms.find((x) => x.ref === r)).find(Boolean);
    if (!query.plan && room && room.plan !== state.storey) continue;
    let [x, y] = at(place);
    if (off(view, [x, y])) continue;
    if (!query.at) y -= 22; // clear of the room's name
    const box = () => [x, y - FLAG.pole - FLAG.high, FLAG.wide, FLAG.high + FLAG.pole];
    while (taken.some((other) => overlap(other, box()))) x += FLAG.wide + 4;
    taken.push(box());
    flag(pen, [x, y], query);
    hits.push({ kind: "query", ref: query.ref, at: [x + FLAG.wide / 2, y - FLAG.pole - FLAG.high / 2], reach: 19 });
  }
}

function flag({ ctx, state, colours }, [x, y], query) {
  const picked = isPicked(state, "query", query.ref);
  const top = y - FLAG.pole - FLAG.high;
  ctx.lineWidth = 2;
  ctx.strokeStyle = colours.flagInk;
  line(ctx, [x, y], [x, top]);
  ctx.beginPath();
  ctx.moveTo(x, top);
  ctx.lineTo(x + FLAG.wide, top);
  ctx.lineTo(x + FLAG.wide - 5, top + FLAG.high / 2);
  ctx.lineTo(x + FLAG.wide, top + FLAG.high);
  ctx.lineTo(x, top + FLAG.high);
  ctx.closePath();
  ctx.fillStyle = picked ? colours.flagInk : colours.flag;
  ctx.fill();
  ctx.lineWidth = picked ? 3 : 1.5;
  ctx.stroke();
  ctx.fillStyle = picked ? colours.flag : colours.flagInk;
  ctx.font = "700 12px system-ui, sans-serif";
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  ctx.fillText(query.ref.slice(1), x + FLAG.wide / 2 - 2, top + FLAG.high / 2 + 0.5);
}

function drawTool({ ctx, state, colours, at }, pointer) {
  const { tool } = state;
  const points = pointer && tool.name !== "join" ? [...tool.points, pointer.at] : tool.points;
  ctx.strokeStyle = colours.tool;
  ctx.fillStyle = colours.tool;
  ctx.lineWidth = 3;
  if (points.length > 1 && tool.name !== "opening") line(ctx, at(points[0]), at(points[1]));
  for (const [i, p] of points.entries()) end(ctx, at(p), i >= tool.points.length ? pointer.to : "set");
  if (tool.name === "split" && tool.points.length === 2) drawParts(ctx, state, colours, at);
}

/** A point: full when set, a square at the end of a line, a ring elsewhere. */
function end(ctx, [x, y], what) {
  ctx.beginPath();
  if (what === "end") ctx.rect(x - 7, y - 7, 14, 14);
  else ctx.arc(x, y, what === "set" ? 5 : 7, 0, 2 * Math.PI);
  if (what === "set") ctx.fill();
  else ctx.stroke();
  if (what === "line") line(ctx, [x - 11, y], [x + 11, y]);
}

/** Writes left, right, upper, lower on either side of a dividing line. */
function drawParts(ctx, state, colours, at) {
  if (!splitRoom(state.tool, roomsHere(state))) return;
  const [a, b] = state.tool.points.map(at);
  const long = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
  const left = [(b[1] - a[1]) / long, -(b[0] - a[0]) / long];
  const [first, other] = partWords(state.tool.points);
  for (const [word, side] of [
    [first, 1],
    [other, -1],
  ]) {
    const at = [(a[0] + b[0]) / 2 + left[0] * 34 * side, (a[1] + b[1]) / 2 + left[1] * 34 * side];
    chip({ ctx, colours }, at, word, colours.tool);
  }
}
