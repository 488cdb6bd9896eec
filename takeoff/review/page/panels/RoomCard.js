// One room: what can be said about it, and every figure with its working.
import { getBlob } from "../api.js";
import {
  amount,
  area,
  hours,
  metres,
  money,
  number,
  percent,
  plain,
  readLength,
  readText,
  unitWord,
} from "../format.js";
import { Busy, Choice, Field, Figure, Fold, Nothing, Sure, Tagged } from "../parts.js";
import { roomOf, set, useStore } from "../store.js";
import { change, goTo } from "../sync.js";
import { html, useEffect, useRef, useState } from "../ui.js";
import { startOn } from "../plan/ToolBar.js";
import { Cautions } from "./Cautions.js";
import { Findings } from "./Findings.js";
import { Surfaces } from "./Surfaces.js";

const FROM = { drawing: "from the drawing", job: "you said so", default: "taken, because nothing says" };

export function RoomCard({ ref_: ref }) {
  const room = useStore((s) => roomOf(ref, s));
  const detail = useStore((s) => (s.room?.ref === ref ? s.room : null));
  const head = useRef(null);
  useEffect(() => head.current?.focus({ preventScroll: true }), []);
  if (!room) return null;
  return html`
    <button type="button" class="link back" onClick=${() => set({ picked: null, room: null, shown: null })}>All rooms</button>
    <h2 ref=${head} tabindex="-1">${room.ref} ${room.name}</h2>
    <${Summary} room=${room} detail=${detail} />
    <${Says} room=${room} />
    ${detail ? html`<${Details} room=${room} detail=${detail} />` : html`<${Busy} says="Working out this room" />`}
  `;
}

function Summary({ room, detail }) {
  const currency = useStore((s) => s.totals?.price?.currency ?? "");
  return html`
    <div class="figures">
      <${Figure} what="Floor" value=${area(room.area_m2)} handles=${room.handles} how=${`the room's outline, ${metres(room.perimeter_m)} round`}>
        ${room.printed_area_m2 !== null && html`<${Tagged} tag="Printed">${area(room.printed_area_m2)} on the drawing<//>`}
      <//>
      <${Figure} what="Outline" value=${html`<${Sure} value=${room.sure} />`} handles=${room.handles} how=${`${percent(room.sure)} sure`}>
        <ul class="plainlist">${room.why_sure.map((why) => html`<li>${why}</li>`)}</ul>
      <//>
      <${Figure} what="Hours" value=${hours(room.hours)} how=${detail ? detail.hours.map((h) => `${number(h.hours)} ${h.title}`).join(" + ") : null} />
      ${room.price !== null && html`<${Figure} what="Price" value=${money(room.price, currency)} how=${detail?.price ? "the lines under Price below" : null} />`}
    </div>
    <div class="row">
      <button type="button" class="plain" onClick=${() => goTo("room", room.ref)}>Show on the plan</button>
      <button type="button" class="plain" onClick=${() => startOn("split")}>Split it</button>
      <button type="button" class="plain" onClick=${() => startOn("join", [room.ref])}>Join it to another</button>
    </div>
  `;
}

function Says({ room }) {
  const choices = useStore((s) => s.choices);
  const setKey = (key, what) => (value) =>
    change(`${what} of ${room.ref}`, [{ op: "set", key: ["rooms", room.ref, key], value }]);
  const backgrounds = titled(choices.backgrounds);
  const fit = (kind) => titled(choices.build_ups.filter((b) => b.surfaces.includes(kind)));
  return html`
    <div class="grid2">
      <${Field} label="Name" value=${room.name} read=${readText} save=${setKey("name", "Name")} />
      <${Field} label="Height" value=${plain(room.height_m)} unit="m" read=${readLength} save=${setKey("height", "Height")} from=${FROM[room.height_from] ?? room.height_from} />
    </div>
    <label class="tick">
      <input type="checkbox" checked=${room.measured} onChange=${(e) => setKey("measured", e.target.checked ? "Counting" : "Leaving out")(e.target.checked)} />
      Counted in the figures
    </label>
    <${Fold} title="The whole room at once">
      <p class="quiet">What all its walls or its ceiling are made of, and what goes on them. A single wall can differ: see its surface.</p>
      <div class="grid2">
        <${Choice} label="Walls are" value="" empty="as each wall says" options=${backgrounds} save=${setKey("wall_background", "Walls")} />
        <${Choice} label="On the walls" value="" empty="as each wall says" options=${fit("wall")} save=${setKey("wall_build_up", "Build-up on the walls")} />
        <${Choice} label="Ceiling is" value="" empty="as it says" options=${backgrounds} save=${setKey("ceiling_background", "Ceiling")} />
        <${Choice} label="On the ceiling" value="" empty="as it says" options=${fit("ceiling")} save=${setKey("ceiling_build_up", "Build-up on the ceiling")} />
      </div>
    <//>
  `;
}

export const titled = (rows) => rows.map((r) => ({ value: r.slug, title: r.title }));

function Details({ room, detail }) {
  const currency = useStore((s) => s.totals?.price?.currency ?? "");
  return html`
    <${Fold} title="Surfaces" note=${detail.surfaces.length} open><${Surfaces} detail=${detail} /><//>
    <${Fold} title="Quantities" note=${detail.quantities.length}>
      ${detail.quantities.map((q) => html`<${Figure} what=${q.item} value=${amount(q.net, q.unit)} how=${q.how} rule=${q.rule} sources=${q.sources} handles=${q.handles} />`)}
    <//>
    <${Fold} title="Edges and angles" note=${detail.edges.length}>
      ${detail.edges.map((e) => html`<${Figure} what=${`${e.ref} ${e.kind}`} value=${metres(e.length_m)} how=${e.how} sources=${e.sources} handles=${e.handles} />`)}
    <//>
    <${Fold} title="Materials" note=${detail.materials.length}>
      ${detail.materials.map((m) => html`<${Figure} what=${m.title ?? m.material} value=${amount(m.amount, m.unit)} how=${m.how} sources=${m.sources} />`)}
    <//>
    <${Fold} title="Hours" note=${hours(room.hours)}>
      ${detail.hours.map((h) => html`<${Hours} row=${h} />`)}
    <//>
    <${Fold} title="Price" note=${detail.price ? money(detail.price.total, currency) : "no rates yet"}>
      ${
        detail.price
          ? detail.price.lines.map(
              (l) =>
                html`<${Figure} what=${l.what} value=${money(l.amount, currency)} how=${l.how} sources=${l.sources} />`,
            )
          : html`<${Nothing}>Put your rates under [price] in the job file; then each room has its price.<//>`
      }
    <//>
    <${Fold} title="Found on site" note=${detail.findings.length}><${Findings} room=${room} rows=${detail.findings} surfaces=${detail.surfaces} /><//>
    ${detail.boards && html`<${Fold} title="Boards"><${Boards} room=${room} /><//>`}
    ${detail.cautions?.length > 0 && html`<${Fold} title="Beware" note=${detail.cautions.length}><${Cautions} rows=${detail.cautions} /><//>`}
  `;
}

function Hours({ row }) {
  return html`
    <${Figure} what=${row.title} value=${hours(row.hours)} how=${row.how} sources=${row.sources}>
      <${Tagged} tag="Rate">${row.constant} h for each ${unitWord(row.unit)}, ${amount(row.amount, row.unit)}<//>
      ${row.factors.map((f) => html`<${Tagged} tag="Times">${number(f.value)} ${f.name}${f.why && html` <span class="quiet">${f.why}</span>`}<//>`)}
    <//>
  `;
}

/** How the boards of the room are laid, as a picture from the server: shown as an image, so nothing in it can run. */
function Boards({ room }) {
  const version = useStore((s) => s.found.version);
  const [picture, setPicture] = useState({ state: "none" });
  useEffect(() => () => picture.url && URL.revokeObjectURL(picture.url), [picture]);
  useEffect(() => setPicture({ state: "none" }), [version]);
  const load = async () => {
    setPicture({ state: "busy" });
    try {
      const blob = await getBlob(`/api/boards/${encodeURIComponent(room.ref)}`);
      setPicture({ state: "here", url: URL.createObjectURL(new Blob([blob], { type: "image/svg+xml" })) });
    } catch (fault) {
      setPicture({ state: "fault", says: fault.message });
    }
  };
  if (picture.state === "busy") return html`<${Busy} says="Laying the boards of this room" />`;
  if (picture.state === "here")
    return html`
      <p class="quiet">Each sheet with its number and size; what is cut away is dotted.</p>
      <img class="boards" src=${picture.url} alt=${`The boards of ${room.ref} ${room.name}, wall by wall and the ceiling`} />
      <a class="link" href=${picture.url} download=${`boards-${room.ref}.svg`}>Save the picture</a>
    `;
  return html`
    ${picture.state === "fault" && html`<p class="fault" role="alert">${picture.says}</p>`}
    <button type="button" class="plain" onClick=${load}>Lay the boards and show them</button>
  `;
}
