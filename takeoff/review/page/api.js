// Talks to the server that handed out this page. The token comes in the address once, after the #, and is kept for
// this browser tab only.

const KEY_NAME = "takeoff-key";

/** A fault that the server told in one plain sentence; `status` 409 means that the job moved on. */
export class Fault extends Error {
  constructor(message, status, version) {
    super(message);
    this.status = status;
    this.version = version;
  }
}

/** Takes the token out of the address bar. Returns true where there is one, from now or from before a reload. */
export function takeToken() {
  const given = new URLSearchParams(location.hash.slice(1)).get("key");
  if (given) {
    sessionStorage.setItem(KEY_NAME, given);
    history.replaceState(null, "", location.pathname);
  }
  return Boolean(sessionStorage.getItem(KEY_NAME));
}

async function ask(path, options = {}) {
  const headers = { "X-Takeoff-Key": sessionStorage.getItem(KEY_NAME) ?? "", ...options.headers };
  let answer;
  try {
    answer = await fetch(path, { ...options, headers, cache: "no-store" });
  } catch {
    throw new Fault("The program does not answer. Is it still running in its window?", 0);
  }
  if (answer.ok) return answer;
  const told = await answer.json().catch(() => ({}));
  throw new Fault(told.fault ?? `The program refused this (${answer.status}).`, answer.status, told.version);
}

export const get = async (path) => (await ask(path)).json();

export const getBlob = async (path) => (await ask(path)).blob();

export async function post(path, body = {}) {
  const answer = await ask(path, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
  });
  return answer.json().catch(() => ({}));
}

export async function upload(file) {
  const answer = await ask("/api/upload", {
    method: "POST",
    headers: { "Content-Type": "application/octet-stream", "X-Name": encodeURIComponent(file.name) },
    body: file,
  });
  return answer.json();
}

/** Numbers that came as base64 of little-endian bytes. */
export function numbersOf(base64, Kind) {
  const raw = atob(base64);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i++) bytes[i] = raw.charCodeAt(i);
  return new Kind(bytes.buffer);
}
