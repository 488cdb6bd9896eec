// The tools that correct the drawing's reading.
import { useStore } from "../store.js";
import { TOOLS, begin, stop } from "./tools.js";
import { html } from "../ui.js";

export function ToolBar() {
  const tool = useStore((s) => s.tool);
  return html`
    <div class="tools" role="group" aria-label="Correct the plan">
      ${Object.entries(TOOLS).map(
        ([name, { title }]) => html`
          <button
            type="button"
            aria-pressed=${tool?.name === name}
            onClick=${() => (tool?.name === name ? stop() : startOn(name))}
          >
            <span class=${`icon icon--${name}`} aria-hidden="true"></span>${title}
          </button>
        `,
      )}
    </div>
  `;
}

/** Takes the tool up and puts the keyboard on the plan, where its points are set. */
export function startOn(name, rooms = []) {
  begin(name, rooms);
  document.querySelector(".plan__window")?.focus({ preventScroll: false });
}
