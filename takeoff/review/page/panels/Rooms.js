// The rooms as a list, storey by storey; a picked room opens in the list's place.
import { area, metres } from "../format.js";
import { Nothing, Sure, useFilter, usePicked } from "../parts.js";
import { useStore } from "../store.js";
import { pick } from "../sync.js";
import { html } from "../ui.js";
import { RoomCard } from "./RoomCard.js";

export function Rooms() {
  const picked = usePicked("room");
  const found = useStore((s) => s.found);
  const plan = useStore((s) => s.plan);
  const [rooms, text, setText] = useFilter(found.rooms, (r) => `${r.ref} ${r.name}`);
  if (picked && found.rooms.some((r) => r.ref === picked)) return html`<${RoomCard} key=${picked} ref_=${picked} />`;
  return html`
    <h2>Rooms</h2>
    <label class="search">Find a room <input type="search" value=${text} onInput=${(e) => setText(e.target.value)} /></label>
    ${rooms.length === 0 && html`<${Nothing}>No room ${text ? "of that name" : "was found"}.<//>`}
    ${plan.plans.map((p) => html`<${Storey} plan=${p} rooms=${rooms.filter((r) => r.plan === p.ref)} alone=${plan.plans.length === 1} />`)}
  `;
}

function Storey({ plan, rooms, alone }) {
  if (!rooms.length) return null;
  return html`
    ${!alone && html`<h3>${plan.title || plan.ref}</h3>`}
    <ul class="rows">
      ${rooms.map((r) => html`<${Row} key=${r.ref} room=${r} />`)}
    </ul>
  `;
}

function Row({ room }) {
  const height = room.measured ? `${metres(room.height_m)} high` : "left out of the figures";
  return html`
    <li>
      <button type="button" class="rowbutton" onClick=${() => pick("room", room.ref)}>
        <span class="rowbutton__ref">${room.ref}</span>
        <span class="rowbutton__name">${room.name || "no name"}</span>
        <span class="rowbutton__figure">${area(room.area_m2)}</span>
        <span class="rowbutton__note">${height}${room.height_from === "default" && room.measured ? " (taken, not known)" : ""}</span>
        <span class="rowbutton__sure"><${Sure} value=${room.sure} /></span>
      </button>
    </li>
  `;
}
