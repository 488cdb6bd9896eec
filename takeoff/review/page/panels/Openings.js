// Doors, windows, plain openings and rooflights as a list; a picked one opens to its sizes.
import { metres, plain, readLength } from "../format.js";
import { Choice, Field, Nothing, useFilter, usePicked } from "../parts.js";
import { roomOf, set, useStore } from "../store.js";
import { change, goTo, pick } from "../sync.js";
import { html, useEffect, useRef } from "../ui.js";

const FROM = {
  attribute: "written in the drawing's symbol",
  schedule: "from the drawing's table of openings",
  symbol: "from the drawing's symbol",
  gap: "measured from the gap in the wall",
  tag: "from the mark beside it",
  job: "you said so",
  default: "taken, because nothing says",
};

export function Openings() {
  const found = useStore((s) => s.found);
  const picked = usePicked("opening");
  const [openings, text, setText] = useFilter(found.openings, (o) => `${o.ref} ${o.kind} ${o.rooms.join(" ")}`);
  const one = found.openings.find((o) => o.ref === picked);
  if (one) return html`<${OpeningCard} key=${one.ref} opening=${one} />`;
  return html`
    <h2>Openings</h2>
    <label class="search">Find by mark, kind or room <input type="search" value=${text} onInput=${(e) => setText(e.target.value)} /></label>
    ${openings.length === 0 && html`<${Nothing}>No opening ${text ? "like that" : "was found"}.<//>`}
    <ul class="rows">
      ${openings.map((o) => html`<${Row} key=${o.ref} opening=${o} />`)}
    </ul>
  `;
}

const words = (o) => [o.style, o.kind].filter(Boolean).join(" ");
const placed = (o) => o.rooms.map((r) => `${r} ${roomOf(r)?.name ?? ""}`.trim()).join(" and ") || "no room beside it";
const size = (o) => `${metres(o.width_m)} x ${o.height_m === null ? "height taken" : metres(o.height_m)}`;

function Row({ opening: o }) {
  return html`
    <li>
      <button type="button" class="rowbutton" onClick=${() => pick("opening", o.ref)}>
        <span class="rowbutton__ref">${o.ref}</span>
        <span class="rowbutton__name">${words(o)}${o.ignored ? " (taken out)" : ""}</span>
        <span class="rowbutton__figure">${size(o)}</span>
        <span class="rowbutton__note">${placed(o)}</span>
      </button>
    </li>
  `;
}

function OpeningCard({ opening: o }) {
  const kinds = useStore((s) => s.choices.opening_kinds);
  const head = useRef(null);
  useEffect(() => head.current?.focus({ preventScroll: true }), []);
  const setKey = (key, what) => (value) =>
    change(`${what} of ${o.ref}`, [{ op: "set", key: ["openings", o.ref, key], value }]);
  const from = FROM[o.size_from] ?? o.size_from;
  const point = () => set({ shown: { handles: o.handles, lines: [o.line], what: o.ref } });
  return html`
    <button type="button" class="link back" onClick=${() => set({ picked: null, shown: null })}>All openings</button>
    <h2 ref=${head} tabindex="-1">${o.ref} ${words(o)}</h2>
    <p>Between ${placed(o)}.</p>
    <div class="row">
      <button type="button" class="plain" onClick=${() => goTo("opening", o.ref)}>Show on the plan</button>
      <button type="button" class="plain" onClick=${point}>Point out what it was read from</button>
    </div>
    ${
      o.ignored
        ? html`
          <p>You said that there is no opening here.</p>
          <button type="button" class="plain" onClick=${() => change(`${o.ref} brought back`, [{ op: "unset", key: ["openings", o.ref, "ignore"] }])}>Bring it back</button>
        `
        : html`
          <div class="grid2">
            <${Choice} label="Kind" value=${o.kind} options=${kinds.map((k) => ({ value: k, title: k }))} save=${setKey("kind", "Kind")} />
            <${Field} label="Width" value=${plain(o.width_m)} unit="m" read=${readLength} save=${setKey("width", "Width")} from=${from} />
            <${Field} label="Height" value=${plain(o.height_m)} unit="m" read=${readLength} save=${setKey("height", "Height")} from=${FROM[o.height_from]} />
            ${o.kind === "window" && html`<${Field} label="Sill over the floor" value=${plain(o.sill_m)} unit="m" read=${readLength} save=${setKey("sill", "Sill")} />`}
          </div>
          <button type="button" class="plain" onClick=${() => setKey("ignore", "Taking out")(true)}>There is no opening here</button>
        `
    }
  `;
}
