// The drawn lines, sorted into squares so that only what is in view is drawn, and found again by their handles.
//
// Words: a segment is four numbers in `ends` (x1 y1 x2 y2, metres from `origin`); a square is one cell of a coarse
// grid; a segment much longer than a square is kept apart, as `long`.
import { numbersOf } from "../api.js";

const SQUARES_ACROSS = 48;
const WEIGHTS = { walls: 0, openings: 1 }; // line weights: 0 heavy, 1 middle, 2 light, 3 left out

/** Turns the answer of /api/plan into what the plan draws from. */
export function drawingOf(answer) {
  const ends = numbersOf(answer.segments, Float32Array);
  const entityOf = numbersOf(answer.entity_of, Uint32Array);
  const weightOfEach = answer.layers.map(weightOfLayer);
  const grid = gridOf(ends);
  return {
    ...answer,
    segments: null,
    ends,
    entityOf,
    count: entityOf.length,
    weightOf: (segment) => weightOfEach[answer.entities[entityOf[segment]]?.layer] ?? 2,
    isAside: (segment) => weightOfEach[answer.entities[entityOf[segment]]?.layer] === 3,
    entitiesByHandle: byHandle(answer.entities),
    segmentsByEntity: lazily(() => byEntity(entityOf, answer.entities.length)),
    ...grid,
    ...sorted(ends, grid),
    paths: new Map(), // square -> its lines as paths, see lines.js
  };
}

const weightOfLayer = ({ role, ignored }) =>
  ignored || !role || role.startsWith("ignored") ? 3 : (WEIGHTS[role] ?? 2);

function lazily(make) {
  let made = null;
  return () => (made ??= make());
}

function byHandle(entities) {
  const found = new Map();
  entities.forEach(({ handle }, index) => {
    if (!found.has(handle)) found.set(handle, []);
    found.get(handle).push(index);
  });
  return found;
}

function gridOf(ends) {
  let x0 = Infinity,
    y0 = Infinity,
    x1 = -Infinity,
    y1 = -Infinity;
  for (let i = 0; i < ends.length; i += 2) {
    x0 = Math.min(x0, ends[i]);
    x1 = Math.max(x1, ends[i]);
    y0 = Math.min(y0, ends[i + 1]);
    y1 = Math.max(y1, ends[i + 1]);
  }
  if (ends.length === 0) x0 = y0 = x1 = y1 = 0;
  const size = Math.max(x1 - x0, y1 - y0, 1e-6) / SQUARES_ACROSS;
  return {
    bounds: [x0, y0, x1, y1],
    size,
    across: Math.ceil((x1 - x0) / size) + 1,
    up: Math.ceil((y1 - y0) / size) + 1,
  };
}

/** Segments by the square of their middle, and their ends by the square they are in. */
function sorted(ends, grid) {
  const count = ends.length / 4;
  const square = new Int32Array(count);
  const endSquare = new Int32Array(count * 2);
  const at = (x, y) =>
    Math.floor((y - grid.bounds[1]) / grid.size) * grid.across + Math.floor((x - grid.bounds[0]) / grid.size);
  const long = [];
  for (let i = 0; i < count; i++) {
    const [x1, y1, x2, y2] = ends.subarray(i * 4, i * 4 + 4);
    const isLong = Math.max(Math.abs(x2 - x1), Math.abs(y2 - y1)) > grid.size;
    if (isLong) long.push(i);
    square[i] = isLong ? -1 : at((x1 + x2) / 2, (y1 + y2) / 2);
    endSquare[i * 2] = at(x1, y1);
    endSquare[i * 2 + 1] = at(x2, y2);
  }
  const squares = grid.across * grid.up;
  return { long, inSquare: rows(square, squares), endsIn: rows(endSquare, squares) };
}

/** For each key from 0 to `count` the indices that have it, as a function. */
function rows(keys, count) {
  const starts = new Uint32Array(count + 2);
  for (const key of keys) if (key >= 0) starts[key + 2]++;
  for (let i = 2; i < starts.length; i++) starts[i] += starts[i - 1];
  const items = new Uint32Array(starts[count + 1]);
  keys.forEach((key, index) => {
    if (key >= 0) items[starts[key + 1]++] = index;
  });
  return (key) => items.subarray(starts[key], starts[key + 1]);
}

const byEntity = (entityOf, count) => rows(Int32Array.from(entityOf), count);

/** The squares that touch a box in metres from the origin. */
export function squaresIn(drawing, [x0, y0, x1, y1]) {
  const { bounds, size, across, up } = drawing;
  const from = (v, low) => Math.max(0, Math.floor((v - low) / size));
  const found = [];
  const lastX = Math.min(across - 1, Math.floor((x1 - bounds[0]) / size));
  const lastY = Math.min(up - 1, Math.floor((y1 - bounds[1]) / size));
  for (let y = from(y0, bounds[1]); y <= lastY; y++)
    for (let x = from(x0, bounds[0]); x <= lastX; x++) found.push(y * across + x);
  return found;
}

/** The segments of the drawn things with these handles. */
export function segmentsOf(drawing, handles) {
  const found = [];
  for (const handle of handles)
    for (const entity of drawing.entitiesByHandle.get(handle) ?? []) found.push(...drawing.segmentsByEntity()(entity));
  return found;
}
