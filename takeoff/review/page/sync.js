// Keeps the page and the job file in step: waits for news, sends changes, and says "saved" only after the server did.
import { Fault, get, post, takeToken, upload } from "./api.js";
import { drawingOf } from "./plan/drawing.js";
import { look, roomOf, say, set } from "./store.js";

const RETRY_MS = 1500;
const STALE = 409; // the job is no longer as this page saw it
const MOVED = "The job was changed elsewhere, in another tab or in the file itself. You now see that change.";
const NOT_YET = 503; // the drawing is still being read
const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/** Starts following the job; never returns while the page is open. */
export async function follow() {
  if (!takeToken()) return set({ link: "refused" });
  let mark = "";
  for (;;) {
    try {
      const job = await get(`/api/state?after=${encodeURIComponent(mark)}`);
      mark = job.mark;
      const before = look().job;
      set({ job, link: "open" });
      if (job.has_drawing && !job.reading && job.version !== look().found?.version) await reload();
      tellWhatChanged(before, job);
    } catch (fault) {
      if (fault instanceof Fault && (fault.status === 401 || fault.status === 403)) return set({ link: "refused" });
      if (!(fault instanceof Fault)) throw fault;
      set({ link: fault.status === 0 ? "lost" : "open" });
      if (fault.status && fault.status !== NOT_YET) say(fault.message, "fault");
      await pause(RETRY_MS);
    }
  }
}

function tellWhatChanged(before, job) {
  if (!before) return;
  const done = job.documents.state;
  if (done !== before.documents.state) {
    if (done === "ready") {
      say("The documents are made.");
      if (look().found) reload(); // the figures are exact now
    }
    if (done === "failed") say(job.documents.says || "The documents could not be made.", "fault");
    if (done === "stopped") say("Stopped. No documents were made.");
  }
}

let loading = null;

/** Loads what was found, the figures and the room in view; the drawn lines only where they changed. */
export function reload(sameRooms = false) {
  loading ??= load(sameRooms).finally(() => (loading = null));
  return loading;
}

async function load(sameRooms) {
  const { picked, storey } = look();
  const [found, totals, choices, plan, room] = await Promise.all([
    get("/api/rooms"),
    get("/api/totals"),
    look().choices ?? get("/api/choices"),
    newPlan(),
    sameRooms && picked?.kind === "room" ? get(roomPath(picked.ref)) : null,
  ]);
  const now = look().picked;
  const gone = now?.kind === "room" && !found.rooms.some((r) => r.ref === now.ref);
  const here = plan.plans.some((p) => p.ref === storey) ? storey : (plan.plans[0]?.ref ?? null);
  const same = room && now === picked;
  set({
    found,
    totals,
    choices,
    plan,
    storey: here,
    ...(gone ? { picked: null, room: null } : {}),
    ...(same ? { room } : {}),
  });
  if (!same) await loadRoom();
}

const roomPath = (ref) => `/api/room/${encodeURIComponent(ref)}`;

async function newPlan() {
  const have = look().plan;
  const query = have ? `?have=${encodeURIComponent(have.plan_mark)}` : "";
  const plan = await get(`/api/plan${query}`);
  return have && plan.plan_mark === have.plan_mark ? have : drawingOf(plan);
}

/** The details of the picked room, where one is picked. */
export async function loadRoom() {
  const { picked, room } = look();
  if (picked?.kind !== "room" || !roomOf(picked.ref)) return;
  if (room && room.ref !== picked.ref) set({ room: null });
  try {
    const next = await get(roomPath(picked.ref));
    if (look().picked?.ref === picked.ref) set({ room: next });
  } catch (fault) {
    say(fault.message, "fault");
  }
}

let queue = Promise.resolve();

/**
 * Writes `changes` to the job file, one after the other. Resolves true once they are on disk. A refused change is
 * kept in `unsaved`, so that it can be made again or dropped.
 */
export function change(label, changes) {
  return inTurn(() => send("/api/change", label, { label, changes }));
}

export const undo = () => inTurn(() => step("/api/undo", "Undo", look().job?.undo));
export const redo = () => inTurn(() => step("/api/redo", "Redo", look().job?.redo));

function inTurn(does) {
  queue = queue.catch(() => null).then(does);
  return queue;
}

async function step(path, word, label) {
  if (label === null || label === undefined) return false;
  return send(path, `${word}: ${label}`, {});
}

async function send(path, label, body) {
  set({ saving: label, ...(look().unsaved?.label === label ? { unsaved: null } : {}) });
  try {
    const answer = await post(path, { base: look().job.version, ...body });
    for (const note of answer.notes ?? []) say(note);
    set({ job: { ...look().job, version: answer.version } });
    await reload((body.changes ?? []).length > 0 && body.changes.every(keepsRooms));
    say(`Saved: ${label}.`);
    return true;
  } catch (fault) {
    if (!(fault instanceof Fault)) throw fault;
    await refused(fault, label, body.changes);
    return false;
  } finally {
    set({ saving: null });
  }
}

const TOLD_OF_ROOMS = ["rooms", "surfaces", "findings", "materials", "price", "gang", "measure"];

/** Whether a change only says something of the rooms as they are: then the picked one can be asked for at once. */
const keepsRooms = (change) => TOLD_OF_ROOMS.includes((change.key ?? change.table)[0]);

async function refused(fault, label, changes) {
  const again = Boolean(changes) && (fault.status === STALE || fault.status === 0);
  set({ unsaved: { label, changes, fault: fault.status === STALE ? MOVED : fault.message, again } });
  if (fault.status !== STALE) return;
  try {
    set({ job: await get("/api/state") });
    await reload();
  } catch (next) {
    say(next.message, "fault");
  }
}

/** Sends a drawing. The first one starts the job. */
export async function sendFile(file) {
  set({ uploading: file.name });
  try {
    await upload(file);
    say(`${file.name} is in the job.`);
  } catch (fault) {
    say(`${file.name}: ${fault.message}`, "fault");
  } finally {
    set({ uploading: null });
  }
}

/** Picks a thing by hand or from a list; `go` moves the plan there. */
export function pick(kind, ref, go = true) {
  const panel = { room: "rooms", opening: "openings", query: "queries", layer: "drawing" }[kind];
  set({ picked: { kind, ref }, panel, shown: null });
  if (kind === "room") loadRoom();
  if (go) goTo(kind, ref);
}

/** Moves the plan to a thing and opens its storey. */
export async function goTo(kind, ref) {
  const { boundsOf } = await import("./plan/places.js");
  const place = boundsOf(kind, ref);
  if (place) set({ storey: place.storey ?? look().storey, wanted: { bounds: place.bounds, mark: {} } });
}
