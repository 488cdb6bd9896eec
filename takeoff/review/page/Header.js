// The top line: whose job, which storey, whether everything is saved, undo and redo.
import { drawingInput } from "./Drop.js";
import { set, useStore } from "./store.js";
import { redo, undo } from "./sync.js";
import { html } from "./ui.js";

export function Header() {
  const job = useStore((s) => s.job);
  const title = job?.job?.name || job?.job?.path_name || "Takeoff";
  return html`
    <header class="top">
      <div class="top__job">
        <h1>${title}</h1>
        <${Saved} />
      </div>
      <${Storeys} />
      <div class="top__does" role="group" aria-label="Steps">
        <${Step} word="Undo" keys="Ctrl Z" label=${job?.undo} does=${undo} />
        <${Step} word="Redo" keys="Ctrl Shift Z" label=${job?.redo} does=${redo} />
        <button type="button" class="plain wide-only" onClick=${drawingInput}>Add a drawing</button>
      </div>
    </header>
  `;
}

function Step({ word, keys, label, does }) {
  const can = label !== null && label !== undefined;
  const name = can && label ? `${word}: ${label}` : word;
  return html`
    <button type="button" class="plain" disabled=${!can} aria-label=${name} title=${`${name} (${keys})`} onClick=${does}>
      <span class=${`icon icon--${word.toLowerCase()}`} aria-hidden="true"></span>${word}
    </button>
  `;
}

/** Always in sight: saved only once the server has said so. */
function Saved() {
  const saving = useStore((s) => s.saving);
  const unsaved = useStore((s) => s.unsaved);
  const link = useStore((s) => s.link);
  const job = useStore((s) => s.job);
  const uploading = useStore((s) => s.uploading);
  const [tone, text] = uploading
    ? ["busy", `Sending ${uploading}`]
    : saving
      ? ["busy", "Saving"]
      : unsaved
        ? ["fault", "Not saved"]
        : link === "lost"
          ? ["fault", "No connection"]
          : link === "starting"
            ? ["busy", "Opening"]
            : job?.reading
              ? ["busy", job.reading.says]
              : ["done", job?.job.path_name ? `Saved in ${job.job.path_name}` : "No job yet"];
  return html`<p class=${`saved saved--${tone}`} role="status"><span class="saved__sign" aria-hidden="true"></span>${text}</p>`;
}

function Storeys() {
  const plan = useStore((s) => s.plan);
  const storey = useStore((s) => s.storey);
  if (!plan || plan.plans.length < 2) return null;
  return html`
    <nav class="storeys" aria-label="Storeys and drawings">
      ${plan.plans.map(
        (p) => html`
          <button type="button" aria-current=${p.ref === storey ? "true" : undefined} onClick=${() => set({ storey: p.ref, wanted: null })}>
            ${p.title || p.ref}
          </button>
        `,
      )}
    </nav>
  `;
}
