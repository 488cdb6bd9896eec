// What the page knows and what it is looking at: one object, replaced in part by `set`; whoever is interested
// subscribes. Nothing here talks to the server (`sync.js` does) or draws.
import { useEffect, useState } from "./ui.js";

const first = {
  // From the server
  job: null, // the answer of /api/state
  plan: null, // drawn lines, see plan/drawing.js
  found: null, // rooms, openings, angles, queries: the answer of /api/rooms
  totals: null,
  choices: null,
  room: null, // the answer of /api/room for the picked room
  // Of this tab
  link: "starting", // "open", "lost" or "refused"
  saving: null, // label of the change on its way
  unsaved: null, // {label, changes, fault}: the server refused it, or the job moved on
  uploading: null, // name of the file on its way
  notices: [], // {id, text, tone}
  storey: null, // ref of the plan in view
  panel: "queries",
  picked: null, // {kind: "room" | "opening" | "query" | "layer", ref}
  tool: null, // {name, points, rooms}: see plan/tools.js
  shown: null, // {handles, what}: drawn things to point out
  wanted: null, // {bounds, mark}: where the plan should go next
  marks: { angles: false, texts: true },
};

let now = first;
const listeners = new Set();

export const look = () => now;

export function set(patch) {
  now = { ...now, ...patch };
  for (const tell of [...listeners]) tell(now);
}

export function subscribe(tell) {
  listeners.add(tell);
  return () => listeners.delete(tell);
}

/** The part of the state that `choose` picks; draws the component again when that part changes. */
export function useStore(choose) {
  const [, again] = useState(0);
  const part = choose(now);
  useEffect(() => {
    let last = part;
    const check = (state) => {
      const next = choose(state);
      if (next !== last) {
        last = next;
        again((n) => n + 1);
      }
    };
    check(now);
    return subscribe(check);
  }, []);
  return part;
}

let noticeCount = 0;

/** Says something in the live region; `tone` is "said" or "fault". Faults stay until closed. */
export function say(text, tone = "said") {
  const id = ++noticeCount;
  set({ notices: [...now.notices.filter((n) => n.text !== text).slice(-3), { id, text, tone }] });
  if (tone === "said") setTimeout(() => unsay(id), 6000);
}

export const unsay = (id) => set({ notices: now.notices.filter((n) => n.id !== id) });

// ---- what is in view -------------------------------------------------------------------------------------------

export const roomOf = (ref, state = now) => state.found?.rooms.find((r) => r.ref === ref) ?? null;
export const openingOf = (ref, state = now) => state.found?.openings.find((o) => o.ref === ref) ?? null;
export const queryOf = (ref, state = now) => state.found?.queries.find((q) => q.ref === ref) ?? null;

/** The storey a thing is on, or null. */
export function storeyOf(kind, ref) {
  if (kind === "room") return roomOf(ref)?.plan ?? null;
  if (kind === "opening") {
    const opening = openingOf(ref);
    return opening?.plan ?? roomOf(opening?.rooms[0])?.plan ?? storeyAt(opening?.at);
  }
  if (kind === "query") {
    const query = queryOf(ref);
    return query?.plan ?? query?.about.map((r) => storeyOf("room", r)).find(Boolean) ?? storeyAt(query?.at);
  }
  return null;
}

function storeyAt(at) {
  if (!at) return null;
  const inside = now.plan?.plans.find(
    ({ bounds: [x0, y0, x1, y1] }) => x0 <= at[0] && at[0] <= x1 && y0 <= at[1] && at[1] <= y1,
  );
  return inside?.ref ?? null;
}
