// Draws the lines of the drawing into a picture that is larger than the window, a few squares at a time. Moving the
// plan then only moves that picture; it is drawn anew, in the background, when the view leaves it.
import { squaresIn } from "./drawing.js";
import { boxOf, holds } from "./view.js";

const SLICE_MS = 7; // of a frame's 16 ms; the rest is for moving the picture and the marks on it
const ROUND = 0.35; // the picture goes this much of the window beyond each edge
const WIDTHS = [1.7, 1.1, 0.8, 0.6]; // pixels, by line weight (see drawing.js)
const SMALLEST_TEXT = 5; // pixels of height below which a text is a smudge

export class Lines {
  constructor(again) {
    this.again = again;
    this.front = null; // {canvas, view}: the picture in use
    this.work = null; // the picture being drawn
  }

  forget() {
    this.front = null;
    this.work = null;
  }

  /** Puts the picture on `ctx` as it stands for `view`, and goes on drawing where it does not serve. */
  draw(ctx, view, drawing, colours, texts) {
    const wanted = `${drawing.plan_mark} ${colours.mark} ${texts} ${view.w} ${view.h} ${view.ratio}`;
    if (this.wanted !== wanted) {
      this.work = null;
      if (this.front?.view.w !== view.w || this.front?.drawing !== drawing) this.front = null;
      this.wanted = wanted;
    }
    if (this.front) put(ctx, view, this.front);
    const serves = (p) => p && p.wanted === wanted && p.view.scale === view.scale && holds(boxOf(p.view), boxOf(view));
    if (serves(this.front)) return;
    this.work ??= begin(view, drawing, colours, texts, wanted);
    if (carryOn(this.work)) {
      this.front = this.work;
      this.work = null;
      performance.mark("takeoff-lines-drawn");
    }
    this.again();
  }
}

function put(ctx, view, { canvas, view: then }) {
  const k = view.scale / then.scale;
  const x = (then.x - view.x) * view.scale + view.w / 2 - (then.w / 2) * k;
  const y = (view.y - then.y) * view.scale + view.h / 2 - (then.h / 2) * k;
  ctx.drawImage(canvas, x, y, then.w * k, then.h * k);
}

function begin(view, drawing, colours, texts, wanted) {
  const large = { ...view, w: Math.round(view.w * (1 + 2 * ROUND)), h: Math.round(view.h * (1 + 2 * ROUND)) };
  const canvas = document.createElement("canvas");
  canvas.width = large.w * view.ratio;
  canvas.height = large.h * view.ratio;
  const ctx = canvas.getContext("2d");
  const box = boxOf(large);
  const near = drawing.size / 2;
  const squares = squaresIn(drawing, [box[0] - near, box[1] - near, box[2] + near, box[3] + near]);
  return { canvas, ctx, view: large, drawing, colours, texts, wanted, squares: ["long", ...squares], next: 0 };
}

/** Draws squares until the slice is over. Returns true when all are drawn. */
function carryOn(work) {
  const { ctx, view, drawing, colours } = work;
  const until = performance.now() + SLICE_MS;
  const k = view.scale * view.ratio;
  ctx.setTransform(
    k,
    0,
    0,
    -k,
    (view.w / 2 - view.x * view.scale) * view.ratio,
    (view.h / 2 + view.y * view.scale) * view.ratio,
  );
  ctx.lineCap = "round";
  while (work.next < work.squares.length) {
    for (const { weight, path } of pathsOf(drawing, work.squares[work.next])) {
      ctx.lineWidth = WIDTHS[weight] / view.scale;
      ctx.strokeStyle = colours.lines[weight];
      ctx.stroke(path);
    }
    work.next++;
    if (performance.now() > until && work.next < work.squares.length) return false;
  }
  if (work.texts) drawTexts(work);
  return true;
}

function pathsOf(drawing, square) {
  if (!drawing.paths.has(square)) {
    const segments = square === "long" ? drawing.long : drawing.inSquare(square);
    drawing.paths.set(square, byWeight(drawing, segments));
  }
  return drawing.paths.get(square);
}

function byWeight(drawing, segments) {
  const paths = new Map();
  const { ends } = drawing;
  for (const i of segments) {
    const weight = drawing.weightOf(i);
    if (!paths.has(weight)) paths.set(weight, new Path2D());
    const path = paths.get(weight);
    path.moveTo(ends[i * 4], ends[i * 4 + 1]);
    path.lineTo(ends[i * 4 + 2], ends[i * 4 + 3]);
  }
  return [...paths].map(([weight, path]) => ({ weight, path })).sort((a, b) => b.weight - a.weight);
}

function drawTexts({ ctx, view, drawing, colours }) {
  const [x0, y0, x1, y1] = boxOf(view);
  const [ox, oy] = drawing.origin;
  ctx.fillStyle = colours.text;
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  for (const { at, text, height, angle } of drawing.texts) {
    const x = at[0] - ox,
      y = at[1] - oy;
    const size = height * view.scale;
    if (size < SMALLEST_TEXT || x < x0 || x > x1 || y < y0 || y > y1) continue;
    const px = (x - view.x) * view.scale + view.w / 2,
      py = (view.y - y) * view.scale + view.h / 2;
    const c = Math.cos(angle) * view.ratio,
      s = Math.sin(angle) * view.ratio;
    ctx.setTransform(c, -s, s, c, px * view.ratio, py * view.ratio);
    ctx.font = `${size}px sans-serif`;
    ctx.fillText(text, 0, 0);
  }
}
