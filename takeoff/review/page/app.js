// The whole page: plan and tools on one side, lists and figures on the other.
import { Drop, Start, drawingInput } from "./Drop.js";
import { Header } from "./Header.js";
import { Notices } from "./Notices.js";
import { Busy } from "./parts.js";
import { PlanView } from "./plan/PlanView.js";
import { ToolBar } from "./plan/ToolBar.js";
import { ToolCard } from "./plan/ToolCard.js";
import { Documents } from "./panels/Documents.js";
import { Drawing } from "./panels/Drawing.js";
import { Figures } from "./panels/Figures.js";
import { Openings } from "./panels/Openings.js";
import { Queries } from "./panels/Queries.js";
import { Rooms } from "./panels/Rooms.js";
import { set, useStore } from "./store.js";
import { html, useEffect, useRef, useState } from "./ui.js";

const PANELS = {
  queries: { title: "To settle", Panel: Queries, count: (s) => s.found?.queries.length },
  rooms: { title: "Rooms", Panel: Rooms, count: (s) => s.found?.rooms.length },
  openings: { title: "Openings", Panel: Openings, count: (s) => s.found?.openings.length },
  drawing: { title: "Drawing", Panel: Drawing },
  figures: { title: "Figures", Panel: Figures },
  documents: { title: "Documents", Panel: Documents },
};

export function App() {
  const link = useStore((s) => s.link);
  const hasDrawing = useStore((s) => s.job?.has_drawing);
  const ready = useStore((s) => Boolean(s.found && s.plan));
  const under = useStore((s) => Boolean(s.job?.reading || s.job?.fault));
  if (link === "refused") return html`<${Refused} />`;
  return html`
    <a class="skip" href="#lists">Skip the plan, go to the lists</a>
    <${Header} />
    <${Notices} />
    ${link === "starting" && html`<main class="start"><${Busy} says="Opening the job" /></main>`}
    ${link !== "starting" && !hasDrawing && !under && html`<${Start} />`}
    ${link !== "starting" && (hasDrawing || under) && !ready && html`<${Reading} />`}
    ${ready && html`<${Work} />`}
    <${Drop} />
  `;
}

function Reading() {
  const job = useStore((s) => s.job);
  return html`
    <main class="start" id="lists" tabindex="-1">
      ${
        job.fault
          ? html`<h2>The drawing could not be read</h2><p class="fault" role="alert">${job.fault}</p><button type="button" class="main" onClick=${drawingInput}>Choose another drawing</button>`
          : html`<h2>Reading the drawing</h2><${Busy} says=${job.reading?.says ?? "Reading"} /><progress max="1" value=${job.reading?.done ?? 0} aria-label="Reading the drawing"></progress>`
      }
    </main>
  `;
}

function Work() {
  const panel = useStore((s) => s.panel);
  const tool = useStore((s) => s.tool);
  const [tall, setTall] = useState(false);
  const picked = useStore((s) => s.picked);
  const { Panel } = PANELS[panel];
  const body = useRef(null);
  const opening = useRef(true);
  useEffect(() => {
    if (picked?.kind !== "query") body.current.scrollTop = 0;
    if (!opening.current && document.activeElement === document.body)
      heading(body.current)?.focus({ preventScroll: true });
    opening.current = false;
  }, [panel, picked, Boolean(tool)]);
  return html`
    <main class=${`work ${tall ? "work--tall" : ""}`}>
      <section class="work__plan" aria-label="Plan">
        <${PlanView} />
        <${ToolBar} />
      </section>
      <section class="work__lists" id="lists" tabindex="-1" aria-label="Lists and figures">
        <button type="button" class="grip" aria-pressed=${tall} onClick=${() => setTall(!tall)}>
          ${tall ? "More of the plan" : "More of the list"}
        </button>
        <nav class="tabs" aria-label="Lists">
          ${Object.keys(PANELS).map((name) => html`<${Tab} name=${name} here=${name === panel} />`)}
        </nav>
        <div class="panel" ref=${body}>${tool ? html`<${ToolCard} tool=${tool} key=${tool.name} />` : html`<${Panel} />`}</div>
      </section>
    </main>
  `;
}

/** Where the keyboard goes when what had it is gone: the heading of what is shown instead. */
function heading(panel) {
  const found = panel.querySelector("h2");
  found?.setAttribute("tabindex", "-1");
  return found;
}

function Tab({ name, here }) {
  const { title, count } = PANELS[name];
  const many = useStore(count ?? (() => null));
  return html`
    <button type="button" aria-current=${here ? "page" : undefined} onClick=${() => set({ panel: name, picked: null, room: null, shown: null, tool: null })}>
      ${title}${many !== null && many !== undefined && html` <span class="count">${many}</span>`}
    </button>
  `;
}

const Refused = () => html`
  <main class="start">
    <h1>This page needs its key</h1>
    <p>Open it from the address that the program printed in its window: the key is part of that address. Each run has a new one.</p>
  </main>
`;
