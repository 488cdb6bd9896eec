// What the page has to say: passing news, faults that stay until closed, and a change that could not be saved.
import { set, unsay, useStore } from "./store.js";
import { change } from "./sync.js";
import { html } from "./ui.js";

export function Notices() {
  const notices = useStore((s) => s.notices);
  const link = useStore((s) => s.link);
  const fault = useStore((s) => (s.found ? s.job?.fault : null)); // before that it has a page of its own
  return html`
    <div class="notices">
      ${link === "lost" && html`<div class="notice notice--fault" role="alert"><p>The program does not answer. Nothing more is saved until it does. Is it still running in its window?</p></div>`}
      ${fault && html`<div class="notice notice--fault" role="alert"><p>${fault}</p></div>`}
      <${Unsaved} />
      <div role="status" aria-live="polite">
        ${notices.map((n) => html`<${Notice} key=${n.id} notice=${n} />`)}
      </div>
    </div>
  `;
}

function Notice({ notice }) {
  return html`
    <div class=${`notice notice--${notice.tone}`}>
      <p>${notice.text}</p>
      <button type="button" class="plain" aria-label="Close this message" onClick=${() => unsay(notice.id)}>Close</button>
    </div>
  `;
}

/** A refused change is not lost: it can be made again on the job as it now is, or dropped. */
function Unsaved() {
  const unsaved = useStore((s) => s.unsaved);
  if (!unsaved) return null;
  const again = () => change(unsaved.label, unsaved.changes);
  return html`
    <div class="notice notice--fault" role="alert">
      <p><b>Not saved: ${unsaved.label}.</b> ${unsaved.fault}</p>
      <span class="row">
        ${unsaved.again && html`<button type="button" class="plain" onClick=${again}>Make my change again</button>`}
        <button type="button" class="plain" onClick=${() => set({ unsaved: null })}>Drop it</button>
      </span>
    </div>
  `;
}
