// What the tool in hand asks for, and the form that ends it.
import { metres, plain, readLength } from "../format.js";
import { look, useStore } from "../store.js";
import { change } from "../sync.js";
import { html, useEffect, useId, useRef, useState } from "../ui.js";
import { roomsHere } from "./marks.js";
import * as tools from "./tools.js";

const FORMS = { split: SplitForm, join: JoinForm, wall: WallForm, opening: OpeningForm, length: LengthForm };

export function ToolCard({ tool }) {
  const asks = tools.asks(tool);
  const Form = FORMS[tool.name];
  const card = useRef(null);
  useEffect(() => {
    if (!asks && tool.name !== "join") card.current.querySelector("form input, form select")?.focus();
  }, [asks]);
  return html`
    <section ref=${card} class="card" onKeyDown=${(e) => e.key === "Escape" && tools.stop()} aria-label=${tools.TOOLS[tool.name].title}>
      <h2>${tools.TOOLS[tool.name].title}</h2>
      <p role="status">${asks ?? ""}</p>
      ${asks && tool.name !== "join" && html`<p class="quiet">It catches on the ends of lines and on lines. By keyboard: the arrow keys move the plan under the cross, Enter sets the point, Backspace takes it back.</p>`}
      ${tool.name === "join" && html`<${JoinList} tool=${tool} />`}
      ${asks ? html`<div class="row"><button type="button" class="plain" onClick=${tools.stop}>Leave it</button></div>` : html`<${Form} tool=${tool} />`}
    </section>
  `;
}

/** Sends the changes; the tool is put down once they are on disk. */
async function finish(label, changes) {
  if (await change(label, changes)) tools.stop();
}

/** The fields of a tool's form: texts by name, each read on sending. `readers` name -> text to {value} or {fault}. */
function useForm(first, readers) {
  const [texts, setTexts] = useState(first);
  const [faults, setFaults] = useState({});
  const put = (name) => (event) => setTexts({ ...texts, [name]: event.target.value });
  const take = () => {
    const got = Object.fromEntries(Object.entries(readers).map(([name, read]) => [name, read(texts[name])]));
    const wrong = Object.fromEntries(
      Object.entries(got)
        .filter(([, g]) => g.fault)
        .map(([name, g]) => [name, g.fault]),
    );
    setFaults(wrong);
    if (Object.keys(wrong).length) return null;
    return { ...texts, ...Object.fromEntries(Object.entries(got).map(([name, g]) => [name, g.value])) };
  };
  return { texts, faults, put, take };
}

function Text({ form, name, label, unit }) {
  const id = useId();
  return html`
    <div class="field field--small">
      <label for=${id}>${label}</label>
      <span class="field__row">
        <input id=${id} type="text" autocomplete="off" value=${form.texts[name]} onInput=${form.put(name)}
          aria-invalid=${form.faults[name] ? "true" : undefined} aria-describedby=${form.faults[name] ? `${id}-fault` : undefined} />
        ${unit && html`<span class="field__unit">${unit}</span>`}
      </span>
      ${form.faults[name] && html`<span id=${`${id}-fault`} class="fault" role="alert">${form.faults[name]}</span>`}
    </div>
  `;
}

function Ends({ send, word }) {
  const saving = useStore((s) => s.saving);
  return html`
    <div class="row">
      <button type="submit" class="main" disabled=${Boolean(saving)} onClick=${send}>${word}</button>
      <button type="button" class="plain" onClick=${tools.pointBack}>Back a step</button>
      <button type="button" class="plain" onClick=${tools.stop}>Leave it</button>
    </div>
  `;
}

const asForm = (send, body) => html`
  <form
    onSubmit=${(event) => {
      event.preventDefault();
      send();
    }}
  >
    ${body}
  </form>
`;

function SplitForm({ tool }) {
  const room = tools.splitRoom(tool, roomsHere(look()));
  const [first, other] = tools.partWords(tool.points);
  const base = room?.name ?? "";
  const form = useForm({ a: base, b: "" }, {});
  if (!room)
    return html`<p class="fault">The middle of that line is in no room. Take a step back and draw it across one.</p><${Ends} word="Split" send=${(e) => e.preventDefault()} />`;
  const send = () => {
    const names = [form.texts.a.trim() || `${base} ${first}`.trim(), form.texts.b.trim() || `${base} ${other}`.trim()];
    finish(`Split ${room.ref}`, tools.splitChanges(tool, room, names));
  };
  return asForm(
    send,
    html`
    <p>${room.ref} ${room.name} is parted by a line of ${metres(tools.lengthOf(tool.points))}.</p>
    <div class="row row--fields">
      <${Text} form=${form} name="a" label=${`Name of the ${first} part`} />
      <${Text} form=${form} name="b" label=${`Name of the ${other} part`} />
    </div>
    <${Ends} word="Split" />
  `,
  );
}

function JoinList({ tool }) {
  const rooms = useStore((s) => s.found.rooms);
  const storey = useStore((s) => s.storey);
  return html`
    <fieldset class="ticks">
      <legend>Rooms to join</legend>
      ${rooms
        .filter((r) => r.plan === storey)
        .map(
          (r) => html`
            <label><input type="checkbox" checked=${tool.rooms.includes(r.ref)} onChange=${() => tools.toggle(r.ref)} /> ${r.ref} ${r.name}</label>
          `,
        )}
    </fieldset>
  `;
}

function JoinForm({ tool }) {
  const form = useForm({ name: tools.joinNames(tool)[0] ?? "" }, {});
  const send = () => finish(`Join ${tool.rooms.join(" and ")}`, tools.joinChanges(tool, form.texts.name.trim()));
  return asForm(send, html`<${Text} form=${form} name="name" label="Name of the whole" /><${Ends} word="Join" />`);
}

function WallForm({ tool }) {
  const form = useForm({ thickness: "0.1" }, { thickness: readLength });
  const send = () => {
    const got = form.take();
    if (got) finish("A wall drawn", tools.wallChanges(tool, got.thickness));
  };
  return asForm(
    send,
    html`
    <p>The wall is ${metres(tools.lengthOf(tool.points))} long, its middle on your line.</p>
    <${Text} form=${form} name="thickness" label="Thickness" unit="m" />
    <${Ends} word="Draw the wall" />
  `,
  );
}

const SIZES = { door: [0.838, 2.04, null], window: [1.2, 1.2, 0.9], opening: [0.9, 2.1, null] };

function OpeningForm({ tool }) {
  const id = useId();
  const [kind, setKind] = useState("door");
  const kinds = useStore((s) => s.choices.opening_kinds).filter((k) => SIZES[k]);
  return html`
    <div class="field field--small">
      <label for=${id}>Kind</label>
      <select id=${id} onChange=${(e) => setKind(e.target.value)}>
        ${kinds.map((k) => html`<option value=${k} selected=${k === kind}>${k}</option>`)}
      </select>
    </div>
    <${OpeningSizes} key=${kind} tool=${tool} kind=${kind} />
  `;
}

function OpeningSizes({ tool, kind }) {
  const [width, height, sill] = SIZES[kind];
  const first = { width: plain(width), height: plain(height), ...(sill === null ? {} : { sill: plain(sill) }) };
  const form = useForm(first, Object.fromEntries(Object.keys(first).map((name) => [name, readLength])));
  const send = () => {
    const got = form.take();
    if (got)
      finish(
        kind === "opening" ? "An opening marked" : `A ${kind} marked`,
        tools.openingChanges(tool, { kind, ...got }),
      );
  };
  return asForm(
    send,
    html`
    <p class="quiet">A usual size is filled in: put the right one in its place.</p>
    <div class="row row--fields">
      ${Object.keys(first).map((name) => html`<${Text} form=${form} name=${name} label=${name === "sill" ? "Sill over floor" : name} unit="m" />`)}
    </div>
    <${Ends} word="Mark it" />
  `,
  );
}

function LengthForm({ tool }) {
  const unit = useStore((s) => s.plan.unit);
  const form = useForm({ length: "" }, { length: readLength });
  const send = () => {
    const got = form.take();
    if (got) finish("The scale", tools.lengthChanges(tool, got.length, unit.metres_per_unit));
  };
  return asForm(
    send,
    html`
    <p>It is ${metres(tools.lengthOf(tool.points))} as the drawing is read now.</p>
    <${Text} form=${form} name="length" label="It really is" unit="m" />
    <${Ends} word="Set the scale" />
  `,
  );
}
