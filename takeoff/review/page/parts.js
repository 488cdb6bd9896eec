// The parts the panels are made of: a field that saves one value, a choice, a figure that opens to its working.
import { set, useStore } from "./store.js";
import { html, useEffect, useId, useRef, useState } from "./ui.js";

/**
 * One value that is saved on Enter or on leaving the field; Escape takes the old value back. `read` turns the text
 * into {value} or {fault}; `save` gets the value. `from` says where the present value comes from.
 */
export function Field({ label, value, unit, read, save, from, small, hint }) {
  const id = useId();
  const [draft, setDraft] = useState(null);
  const [fault, setFault] = useState(null);
  const input = useRef(null);
  useEffect(() => setFault(null), [value]);
  const commit = () => {
    if (draft === null || draft === value) return setDraft(null);
    const got = read(draft);
    if (got.fault) return setFault(got.fault);
    setFault(null);
    setDraft(null);
    const kept = draft;
    Promise.resolve(save(got.value)).then((saved) => saved === false && setDraft(kept));
  };
  const key = (event) => {
    if (event.key === "Enter") commit();
    if (event.key === "Escape" && draft !== null) {
      event.stopPropagation();
      setDraft(null);
      setFault(null);
    }
  };
  const about = [fault && `${id}-fault`, from && `${id}-from`, hint && `${id}-hint`].filter(Boolean).join(" ");
  return html`
    <div class=${`field ${small ? "field--small" : ""}`}>
      <label for=${id}>${label}</label>
      <span class="field__row">
        <input
          id=${id}
          ref=${input}
          type="text"
          autocomplete="off"
          spellcheck="false"
          value=${draft ?? value}
          data-saved=${draft === null ? "" : undefined}
          aria-invalid=${fault ? "true" : undefined}
          aria-describedby=${about || undefined}
          onInput=${(e) => setDraft(e.target.value)}
          onKeyDown=${key}
          onBlur=${commit}
        />
        ${unit && html`<span class="field__unit">${unit}</span>`}
      </span>
      ${hint && html`<span id=${`${id}-hint`} class="quiet">${hint}</span>`}
      ${from && html`<span id=${`${id}-from`} class="quiet">${from}</span>`}
      ${fault && html`<span id=${`${id}-fault`} class="fault" role="alert">${fault}</span>`}
    </div>
  `;
}

/** One of several; `options` are {value, title}. Saved at once. */
export function Choice({ label, value, options, save, from, small, empty = "not settled" }) {
  const id = useId();
  const known = options.some((o) => o.value === value);
  return html`
    <div class=${`field ${small ? "field--small" : ""}`}>
      <label for=${id}>${label}</label>
      <select id=${id} value=${known ? value : ""} onChange=${(e) => save(e.target.value)} aria-describedby=${from ? `${id}-from` : undefined}>
        ${!known && html`<option value="" disabled>${value || empty}</option>`}
        ${options.map((o) => html`<option value=${o.value} selected=${o.value === value}>${o.title}</option>`)}
      </select>
      ${from && html`<span id=${`${id}-from`} class="quiet">${from}</span>`}
    </div>
  `;
}

/**
 * A figure that opens to show how it came about and points out on the plan what it came from. `sources` are
 * {what, rule, handles}; `handles` and `lines` (metres) are what the figure as a whole rests on.
 */
export function Figure({ what, value, how, rule, sources = [], handles = [], lines = [], children }) {
  const all = [...new Set([...handles, ...sources.flatMap((s) => s.handles ?? [])])];
  const pointsOut = all.length > 0 || lines.length > 0;
  const show = () => set({ shown: { handles: all, lines, what } });
  const toggle = (event) => {
    if (event.target !== event.currentTarget) return;
    if (event.currentTarget.open && pointsOut) show();
    else set({ shown: null });
  };
  return html`
    <details class="figure" onToggle=${toggle}>
      <summary><span class="figure__what">${what}</span> <span class="figure__value">${value}</span></summary>
      <div class="figure__why">
        ${how && html`<${Tagged} tag="How"><span class="working">${how}</span><//>`}
        ${rule && html`<${Tagged} tag="Rule">${rule}<//>`}
        ${sources.map((s) => html`<${Source} source=${s} />`)}
        ${children}
        ${
          pointsOut
            ? html`<button type="button" class="link" onClick=${show}>Point it out on the plan (${countOf(all.length, lines.length)})</button>`
            : html`<p class="quiet">Nothing on the drawing stands for this alone.</p>`
        }
      </div>
    </details>
  `;
}

/** A line of a working: a short word, and what it stands before. */
export const Tagged = ({ tag, children }) =>
  html`<p class="tagged"><span class="tag">${tag}</span><span>${children}</span></p>`;

const countOf = (drawn, lines) =>
  drawn ? `${drawn} drawn ${drawn === 1 ? "thing" : "things"}` : `${lines} ${lines === 1 ? "line" : "lines"}`;

function Source({ source }) {
  return html`
    <${Tagged} tag="From">${source.what}${source.rule && html`<span class="quiet"> · ${source.rule}</span>`}<//>
  `;
}

/** Said in words and drawn as filled boxes: how sure the outline of a room is. */
export function Sure({ value }) {
  const word = value >= 0.9 ? "sure" : value >= 0.8 ? "fairly sure" : value >= 0.5 ? "not sure" : "doubtful";
  return html`<span class="sure"><span class=${`sure__bar sure__bar--${Math.round(value * 4)}`} aria-hidden="true"></span>${word}</span>`;
}

/** A folded part of a panel with a heading. */
export function Fold({ title, note, open = false, children }) {
  return html`
    <details class="fold" open=${open}>
      <summary><h3>${title}</h3>${note !== undefined && html`<span class="quiet">${note}</span>`}</summary>
      <div class="fold__body">${children}</div>
    </details>
  `;
}

/** What a list says when it is empty. */
export const Nothing = ({ children }) => html`<p class="nothing">${children}</p>`;

export const Busy = ({ says }) =>
  html`<p class="busy" role="status"><span class="busy__dot" aria-hidden="true"></span>${says}</p>`;

/** Runs a search over a list as one types. */
export function useFilter(rows, words) {
  const [text, setText] = useState("");
  const wanted = text.trim().toLowerCase();
  const kept = wanted ? rows.filter((row) => words(row).toLowerCase().includes(wanted)) : rows;
  return [kept, text, setText];
}

export const usePicked = (kind) => useStore((s) => (s.picked?.kind === kind ? s.picked.ref : null));
