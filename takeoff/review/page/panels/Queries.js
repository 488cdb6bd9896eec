// What the drawing does not settle: one numbered query after the other, each answered where it stands.
import { readLength, readNumber } from "../format.js";
import { Nothing, usePicked } from "../parts.js";
import { openingOf, roomOf, set, useStore } from "../store.js";
import { change, pick } from "../sync.js";
import { html, useEffect, useId, useRef, useState } from "../ui.js";

export function Queries() {
  const found = useStore((s) => s.found);
  const picked = usePicked("query");
  const { queries, accepted = [] } = found;
  return html`
    <h2>To settle</h2>
    ${
      queries.length
        ? html`<p class="quiet">The drawing does not say these. Until you do, the figures rest on what each query tells.</p>`
        : html`<${Nothing}>Nothing to settle. The figures rest on the drawing and on what you have said.<//>`
    }
    <ol class="queries">
      ${queries.map((q) => html`<${Query} key=${q.ref} query=${q} open=${q.ref === picked} />`)}
    </ol>
    ${
      accepted.length > 0 &&
      html`
      <h3>Taken as they stand</h3>
      <ul class="plainlist">
        ${accepted.map((q) => html`<li>${q.says ?? q.kind}${q.note && html` <span class="quiet">${q.note}</span>`}</li>`)}
      </ul>
    `
    }
  `;
}

function Query({ query, open }) {
  const item = useRef(null);
  useEffect(() => {
    if (open) item.current.scrollIntoView({ block: "nearest" });
  }, [open]);
  return html`
    <li ref=${item} class=${`query ${open ? "query--open" : ""}`}>
      <button type="button" class="query__head" aria-expanded=${open} onClick=${() => (open ? set({ picked: null }) : pick("query", query.ref))}>
        <span class="flag" aria-hidden="true">${query.ref.slice(1)}</span>
        <span class="query__says"><span class="hidden">Query ${query.ref.slice(1)}: </span>${query.says}</span>
      </button>
      ${open && html`<${Answer} query=${query} />`}
    </li>
  `;
}

function Answer({ query }) {
  return html`
    <div class="query__answer">
      <${About} refs=${query.about} />
      ${query.answers.map((answer) => (answer.input ? html`<${Told} query=${query} answer=${answer} />` : html`<${Offer} query=${query} answer=${answer} />`))}
      ${query.answers.length === 0 && html`<p class="quiet">Settle it in the room or opening that it is about.</p>`}
    </div>
  `;
}

function About({ refs }) {
  if (!refs.length) return null;
  return html`
    <p class="refs">
      ${refs.map((ref) => {
        const room = roomOf(ref);
        const kind = room ? "room" : openingOf(ref) ? "opening" : null;
        if (!kind) return html`<span class="ref">${ref}</span>`;
        return html`<button type="button" class="link" onClick=${() => pick(kind, ref)}>${ref} ${room?.name ?? openingOf(ref).kind}</button>`;
      })}
    </p>
  `;
}

const label = (query) => `Query ${query.ref.slice(1)}`;

function Offer({ query, answer }) {
  return html`<button type="button" class="plain offer" onClick=${() => change(`${label(query)}: ${answer.label}`, answer.changes)}>${answer.label}</button>`;
}

/** A text may be left empty: it is a remark. */
const readers = { number: readNumber, text: (text) => ({ value: text.trim() }) };

/** An offer that wants one number or word. The value goes into the change that sets the offer's key. */
function Told({ query, answer }) {
  const { input } = answer;
  const id = useId();
  const [text, setText] = useState(String(input.value ?? ""));
  const [fault, setFault] = useState(null);
  const send = (event) => {
    event.preventDefault();
    const got = (input.unit === "m" ? readLength : readers[input.type])(text);
    setFault(got.fault ?? null);
    if (!got.fault) change(`${label(query)}: ${answer.label}`, withValue(answer.changes, input.key, got.value));
  };
  return html`
    <form class="told field" onSubmit=${send}>
      <label for=${id}>${answer.label}</label>
      <span class="field__row">
        <input id=${id} type="text" autocomplete="off" value=${text} onInput=${(e) => setText(e.target.value)}
          placeholder=${input.type === "text" ? "your reason, if you like" : undefined}
          aria-invalid=${fault ? "true" : undefined} aria-describedby=${fault ? `${id}-fault` : undefined} />
        ${input.unit && html`<span class="field__unit">${input.unit}</span>`}
        <button type="submit" class="plain" aria-label=${`Settle: ${answer.label}`}>Settle</button>
      </span>
      ${fault && html`<span id=${`${id}-fault`} class="fault" role="alert">${fault}</span>`}
    </form>
  `;
}

function withValue(changes, key, value) {
  const wanted = JSON.stringify(key);
  return changes.map((c) => {
    if (JSON.stringify(c.key) === wanted) return { ...c, value };
    const last = Array.isArray(key) ? key.at(-1) : key;
    return c.row && last in c.row ? { ...c, row: { ...c.row, [last]: value } } : c;
  });
}
