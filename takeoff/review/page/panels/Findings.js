// What was found in a room on site: rows of [[findings]] in the job file.
import { amount, readNumber, unitWord } from "../format.js";
import { Nothing } from "../parts.js";
import { useStore } from "../store.js";
import { change } from "../sync.js";
import { html, useId, useState } from "../ui.js";

export function Findings({ room, rows, surfaces }) {
  const kinds = useStore((s) => s.choices.finding_kinds);
  const drop = (row) =>
    change(`A finding in ${room.ref} taken back`, [{ op: "remove", table: ["findings"], index: row.index }]);
  return html`
    ${rows.length === 0 && html`<${Nothing}>Nothing entered. Enter what you find on your visit; the price follows.<//>`}
    <ul class="plainlist">
      ${rows.map(
        (row) => html`
          <li class="between">
            <span>
              ${row.title}: ${amount(row.amount, row.unit)} <span class="quiet">${row.place}${row.index === null ? ", allowed for until you have looked" : ""}</span>
            </span>
            ${row.index !== null && html`<button type="button" class="plain" aria-label=${`Take back: ${row.title}`} onClick=${() => drop(row)}>Take back</button>`}
          </li>
        `,
      )}
    </ul>
    <${NewFinding} room=${room} kinds=${kinds} surfaces=${surfaces} />
  `;
}

function NewFinding({ room, kinds, surfaces }) {
  const id = useId();
  const [kind, setKind] = useState(kinds[0]?.slug ?? "");
  const [much, setMuch] = useState("");
  const [place, setPlace] = useState("walls");
  const [deep, setDeep] = useState("");
  const [fault, setFault] = useState(null);
  const chosen = kinds.find((k) => k.slug === kind);
  const wholeRoom = chosen?.unit === "room";
  const add = async (event) => {
    event.preventDefault();
    const got = wholeRoom ? { value: 1 } : readNumber(much);
    const depth = chosen.depth ? readNumber(deep) : {};
    setFault(got.fault ?? depth.fault ?? null);
    if (got.fault || depth.fault) return;
    const row = { room: room.ref, kind, amount: got.value, place: wholeRoom ? "room" : place };
    if (chosen.depth) row.thickness_mm = depth.value;
    if (await change(`Found in ${room.ref}: ${chosen.title}`, [{ op: "add", table: ["findings"], row }])) setMuch("");
  };
  const places = ["walls", "ceiling", "room", ...surfaces.map((s) => s.ref)];
  return html`
    <form class="newrow" onSubmit=${add}>
      <div class="field">
        <label for=${`${id}-kind`}>What you found</label>
        <select id=${`${id}-kind`} onChange=${(e) => setKind(e.target.value)}>
          ${kinds.map((k) => html`<option value=${k.slug} selected=${k.slug === kind}>${k.title}</option>`)}
        </select>
      </div>
      ${
        !wholeRoom &&
        html`
        <div class="grid2">
          <div class="field">
            <label for=${`${id}-much`}>How much</label>
            <span class="field__row">
              <input id=${`${id}-much`} type="text" inputmode="decimal" autocomplete="off" value=${much} onInput=${(e) => setMuch(e.target.value)}
                aria-invalid=${fault ? "true" : undefined} aria-describedby=${fault ? `${id}-fault` : undefined} />
              <span class="field__unit">${unitWord(chosen?.unit)}</span>
            </span>
            ${fault && html`<span id=${`${id}-fault`} class="fault" role="alert">${fault}</span>`}
          </div>
          ${
            chosen?.depth &&
            html`
            <div class="field">
              <label for=${`${id}-deep`}>How deep</label>
              <span class="field__row">
                <input id=${`${id}-deep`} type="text" inputmode="decimal" autocomplete="off" value=${deep} onInput=${(e) => setDeep(e.target.value)} />
                <span class="field__unit">mm</span>
              </span>
            </div>
          `
          }
          <div class="field">
            <label for=${`${id}-place`}>Where</label>
            <select id=${`${id}-place`} onChange=${(e) => setPlace(e.target.value)}>
              ${places.map((p) => html`<option value=${p} selected=${p === place}>${p}</option>`)}
            </select>
          </div>
        </div>
      `
      }
      <button type="submit" class="plain">Enter it</button>
    </form>
  `;
}
