// The plan: a canvas that is moved with pointer, wheel, fingers or keys, and the marks on it that can be picked.
// Everything it offers is also in the lists beside it.
import { html, useEffect, useRef } from "../ui.js";
import { look, set, subscribe, useStore } from "../store.js";
import { pick } from "../sync.js";
import { coloursOf } from "./colours.js";
import { Lines } from "./lines.js";
import { drawMarks, drawTints, roomsHere } from "./marks.js";
import { roomAt, storeyBounds } from "./places.js";
import { snapped } from "./snap.js";
import { asks, point, pointBack, stop } from "./tools.js";
import { fitted, moved, toPlan, zoomed } from "./view.js";

const DRAG_PX = 5;
const STEP_PX = 80;
const FINE_PX = 4;
const ZOOM = 1.3;
const WHEEL = 0.0016;
const CLOSEST_FIT = 160; // pixels for a metre: a small thing is shown with what is round it

/** All that happens on one canvas. Kept out of the component: it is drawn many times for one change of state. */
class Board {
  constructor(canvas, told) {
    this.canvas = canvas;
    this.told = told;
    this.ctx = canvas.getContext("2d", { alpha: false });
    this.view = { x: 0, y: 0, scale: 50, w: 1, h: 1, ratio: 1 };
    this.fingers = new Map();
    this.hits = [];
    this.byKeys = false;
    this.hover = null;
    this.lines = new Lines(() => this.again());
    this.stops = [subscribe(() => this.follow()), this.watchSize(), this.watchColours()];
    this.colours = coloursOf(canvas);
    this.follow();
  }

  close() {
    this.stops.forEach((stop) => stop());
    cancelAnimationFrame(this.frame);
  }

  watchSize() {
    const watcher = new ResizeObserver(() => this.resize());
    watcher.observe(this.canvas.parentElement);
    return () => watcher.disconnect();
  }

  watchColours() {
    const dark = matchMedia("(prefers-color-scheme: dark)");
    const change = () => {
      this.colours = coloursOf(this.canvas);
      this.again();
    };
    dark.addEventListener("change", change);
    return () => dark.removeEventListener("change", change);
  }

  resize() {
    const { clientWidth: w, clientHeight: h } = this.canvas.parentElement;
    const ratio = Math.min(2, devicePixelRatio || 1);
    this.canvas.width = w * ratio;
    this.canvas.height = h * ratio;
    const first = this.view.w === 1;
    this.view = { ...this.view, w, h, ratio };
    if (first || !this.touched) this.fit();
    this.again();
  }

  /** Goes where the page wants to look, and shows what changed. */
  follow() {
    const state = look();
    if (state.plan && state.storey !== this.storey) {
      this.storey = state.storey;
      if (!state.wanted || state.wanted === this.went) this.fit();
    }
    if (state.wanted && state.wanted !== this.went) {
      this.went = state.wanted;
      this.show(state.wanted.bounds, CLOSEST_FIT);
    }
    this.again();
  }

  show([x0, y0, x1, y1], closest) {
    const [ox, oy] = look().plan?.origin ?? [0, 0];
    this.view = fitted(this.view, [x0 - ox, y0 - oy, x1 - ox, y1 - oy], closest);
    this.again();
  }

  fit() {
    if (look().plan) this.show(storeyBounds());
    this.touched = false;
  }

  zoom(factor, at = [this.view.w / 2, this.view.h / 2]) {
    this.view = zoomed(this.view, factor, at);
    this.touched = true;
    this.again();
  }

  move(dx, dy) {
    this.view = moved(this.view, dx, dy);
    this.touched = true;
    this.again();
  }

  again() {
    this.frame ??= requestAnimationFrame(() => {
      this.frame = null;
      this.draw();
    });
  }

  draw() {
    const { ctx, view, colours } = this;
    const state = look();
    ctx.setTransform(view.ratio, 0, 0, view.ratio, 0, 0);
    ctx.fillStyle = colours.paper;
    ctx.fillRect(0, 0, view.w, view.h);
    if (!state.plan || !state.found) return;
    drawTints(ctx, view, state, colours);
    this.lines.draw(ctx, view, state.plan, colours, state.marks.texts);
    this.hits = drawMarks(ctx, view, state, colours, this.pointer(state));
    if (this.byKeys) this.drawCross();
    this.tellView(state);
  }

  /** On the canvas: the middle of the window in metres on the drawing's axes, and pixels for a metre. */
  tellView(state) {
    if (this.view === this.toldView) return;
    this.toldView = this.view;
    const { x, y, scale } = this.view;
    this.canvas.dataset.view = `${x + state.plan.origin[0]} ${y + state.plan.origin[1]} ${scale}`;
  }

  drawCross() {
    const { ctx, view, colours } = this;
    const x = view.w / 2,
      y = view.h / 2;
    ctx.strokeStyle = colours.pick;
    ctx.lineWidth = 2;
    ctx.beginPath();
    for (const [dx, dy] of [
      [1, 0],
      [-1, 0],
      [0, 1],
      [0, -1],
    ]) {
      ctx.moveTo(x + dx * 5, y + dy * 5);
      ctx.lineTo(x + dx * 18, y + dy * 18);
    }
    ctx.stroke();
  }

  /** Where the next point of the tool would go. */
  pointer(state) {
    if (!state.tool || !asks(state.tool)) return null;
    const px = this.byKeys ? [this.view.w / 2, this.view.h / 2] : this.hover;
    return px && this.snap(px, state);
  }

  snap(px, state) {
    const before = state.tool.points.at(-1) ?? null;
    return snapped(this.metres(px), state.plan, this.view.scale, state.tool.points.length === 1 ? before : null);
  }

  metres(px) {
    const [x, y] = toPlan(this.view, px);
    const [ox, oy] = look().plan.origin;
    return [x + ox, y + oy];
  }

  /** Picks what is at a pixel, or gives the point to the tool in hand. */
  press(px) {
    const state = look();
    if (!state.plan || !state.found) return;
    if (state.tool) return point(this.snap(px, state).at);
    const near = this.hits
      .map((hit) => ({ ...hit, d: Math.hypot(hit.at[0] - px[0], hit.at[1] - px[1]) - (hit.kind === "query" ? 8 : 0) }))
      .filter((hit) => hit.d <= hit.reach)
      .sort((a, b) => a.d - b.d)[0];
    const room = roomAt(this.metres(px), roomsHere(state));
    if (near) pick(near.kind, near.ref, false);
    else if (room) pick("room", room.ref, false);
    else set({ picked: null, shown: null, room: null });
  }

  /** Says what is under the cross, for those who do not see it. */
  tell() {
    clearTimeout(this.telling);
    this.telling = setTimeout(() => {
      const state = look();
      if (!state.plan || !state.found) return;
      const px = [this.view.w / 2, this.view.h / 2];
      const at = state.tool ? this.snap(px, state) : { at: this.metres(px), to: "" };
      const room = roomAt(at.at, roomsHere(state));
      const place = `${at.at[0].toFixed(2)}, ${at.at[1].toFixed(2)} m`;
      const to =
        { end: ", at the end of a line", line: ", on a line", straight: ", in line with the first point" }[at.to] ?? "";
      this.told(`${room ? `${room.ref} ${room.name}` : "No room"}, ${place}${to}`);
    }, 250);
  }

  // ---- pointer, wheel and fingers --------------------------------------------------------------------------

  at(event) {
    const box = this.canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  }

  down(event) {
    this.canvas.setPointerCapture(event.pointerId);
    this.fingers.set(event.pointerId, this.at(event));
    if (this.fingers.size === 1) this.start = { at: this.at(event), dragged: false };
    else this.start = null;
    this.byKeys = false;
  }

  moveTo(event) {
    const now = this.at(event);
    const before = this.fingers.get(event.pointerId);
    if (!before) {
      this.hover = now;
      this.byKeys = false;
      if (look().tool) this.again();
      return;
    }
    if (this.fingers.size === 2) this.pinch(event.pointerId, before, now);
    else if (this.start) this.drag(before, now);
    this.fingers.set(event.pointerId, now);
  }

  drag(before, now) {
    const far = Math.hypot(now[0] - this.start.at[0], now[1] - this.start.at[1]);
    if (!this.start.dragged && far < DRAG_PX) return;
    const from = this.start.dragged ? before : this.start.at;
    this.start.dragged = true;
    this.move(now[0] - from[0], now[1] - from[1]);
  }

  pinch(id, before, now) {
    const [, other] = [...this.fingers].find(([key]) => key !== id);
    const was = Math.hypot(before[0] - other[0], before[1] - other[1]);
    const is = Math.hypot(now[0] - other[0], now[1] - other[1]);
    this.move((now[0] - before[0]) / 2, (now[1] - before[1]) / 2);
    if (was > 1) this.zoom(is / was, [(now[0] + other[0]) / 2, (now[1] + other[1]) / 2]);
  }

  up(event) {
    const was = this.fingers.delete(event.pointerId);
    if (was && this.start && !this.start.dragged && event.type === "pointerup") this.press(this.at(event));
    this.start = null;
  }

  leave() {
    this.hover = null;
    this.again();
  }

  wheel(event) {
    event.preventDefault();
    const step = event.deltaMode === 1 ? event.deltaY * 16 : event.deltaY;
    this.zoom(Math.exp(-step * WHEEL * (event.ctrlKey ? 4 : 1)), this.at(event));
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const step = event.shiftKey ? FINE_PX : STEP_PX;
    const does = {
      ArrowLeft: () => this.move(step, 0),
      ArrowRight: () => this.move(-step, 0),
      ArrowUp: () => this.move(0, step),
      ArrowDown: () => this.move(0, -step),
      "+": () => this.zoom(ZOOM),
      "=": () => this.zoom(ZOOM),
      "-": () => this.zoom(1 / ZOOM),
      0: () => this.fit(),
      Enter: () => this.press([this.view.w / 2, this.view.h / 2]),
      Backspace: () => look().tool && pointBack(),
      Escape: () => (look().tool ? stop() : set({ picked: null, shown: null, room: null })),
    }[event.key];
    if (!does) return;
    event.preventDefault();
    this.byKeys = true;
    does();
    this.tell();
    this.again();
  }
}

export function PlanView() {
  const canvas = useRef(null);
  const board = useRef(null);
  const spoken = useRef(null);
  const tool = useStore((s) => s.tool);
  const marks = useStore((s) => s.marks);
  useEffect(() => {
    board.current = new Board(canvas.current, (text) => (spoken.current.textContent = text));
    const wheel = (event) => board.current.wheel(event);
    canvas.current.addEventListener("wheel", wheel, { passive: false });
    return () => board.current.close();
  }, []);
  const on = (name) => (event) => board.current[name](event);
  const mark = (name) => () => set({ marks: { ...marks, [name]: !marks[name] } });
  return html`
    <div class="plan ${tool ? "plan--tool" : ""}">
      <div
        class="plan__window"
        role="application"
        tabindex="0"
        aria-label="Plan"
        aria-describedby="plan-keys"
        onKeyDown=${on("key")}
        onFocus=${(e) => ((board.current.byKeys = e.target.matches(":focus-visible")), board.current.again())}
        onBlur=${() => ((board.current.byKeys = false), board.current.again())}
      >
        <canvas
          ref=${canvas}
          aria-hidden="true"
          onPointerDown=${on("down")}
          onPointerMove=${on("moveTo")}
          onPointerUp=${on("up")}
          onPointerCancel=${on("up")}
          onPointerLeave=${on("leave")}
        />
      </div>
      <p id="plan-keys" class="hidden">
        Arrow keys move the plan under a cross in its middle, with Shift in small steps. Plus and minus zoom, 0 shows
        everything, Enter picks what is under the cross or sets a point there, Escape lets go. All that the plan shows
        is also in the lists.
      </p>
      <p ref=${spoken} class="hidden" role="status" aria-live="polite"></p>
      <div class="plan__zoom" role="group" aria-label="Look at the plan">
        <button type="button" aria-label="Nearer" title="Nearer (+)" onClick=${() => board.current.zoom(ZOOM)}>+</button>
        <button type="button" aria-label="Farther" title="Farther (-)" onClick=${() => board.current.zoom(1 / ZOOM)}>−</button>
        <button type="button" title="Show everything (0)" onClick=${() => board.current.fit()}>All</button>
        <button type="button" aria-pressed=${marks.angles} onClick=${mark("angles")}>Angles</button>
        <button type="button" aria-pressed=${marks.texts} onClick=${mark("texts")}>Texts</button>
      </div>
    </div>
  `;
}
