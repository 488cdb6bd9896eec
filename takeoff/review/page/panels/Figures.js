// The job in figures, and what was measured beside what the drawing prints.
import { amount, area, hours, money, number, percent, plain, readNumber, readText } from "../format.js";
import { Busy, Choice, Field, Figure, Fold, Nothing, Tagged } from "../parts.js";
import { useStore } from "../store.js";
import { change, pick } from "../sync.js";
import { html } from "../ui.js";
import { Cautions } from "./Cautions.js";
import { titled } from "./RoomCard.js";

const NEAR = 0.02; // share by which a printed area may differ before it is marked

export function Figures() {
  const totals = useStore((s) => s.totals);
  if (!totals) return html`<h2>Figures</h2><${Busy} says="Working out the figures" />`;
  return html`
    <h2>Figures</h2>
    ${totals.rough && html`<p class="quiet">Boards and days go by area here. Make the documents to have every sheet laid and every bead cut.</p>`}
    <${Price} price=${totals.price} />
    <${Fold} title="Your rates" note=${totals.rates.labour_rate === null ? "none yet" : ""}><${Rates} rates=${totals.rates} /><//>
    <h3>Measured</h3>
    <${Rule} rule=${totals.areas.rule} />
    <div class="figures">
      ${AREAS.map(([key, what, how]) => html`<${Figure} what=${what} value=${area(totals.areas[key])} how=${`${how}, ${totals.areas.rooms} rooms`} />`)}
      <${Figure} what="Hours, likely" value=${hours(totals.hours.likely)} how="all work in all rooms">
        <ul class="plainlist">${totals.hours.by_task.map((t) => html`<li class="between"><span>${t.title} <span class="quiet">${amount(t.amount, t.unit)}</span></span> <span class="num">${hours(t.hours)}</span></li>`)}</ul>
      <//>
      <${Figure} what="Days" value=${`${totals.rough ? "about " : ""}${totals.days}`} how=${`with ${totals.rates.people} ${totals.rates.people === 1 ? "person" : "people"}`} />
    </div>
    <h3>To buy</h3>
    <${Materials} rows=${totals.materials} currency=${totals.price?.currency ?? ""} />
    <h3>Measured and printed areas</h3>
    <${Printed} />
    ${totals.cautions.length > 0 && html`<${Fold} title="Beware" note=${totals.cautions.length}><${Cautions} rows=${totals.cautions} /><//>`}
  `;
}

const AREAS = [
  ["walls_m2", "Walls, net", "walls and piers less what the rule takes off"],
  ["ceilings_m2", "Ceilings", "all ceilings"],
  ["reveals_m2", "Reveals", "jambs, heads and cills that are plastered"],
  ["floors_m2", "Floors, to compare", "floor of the rooms that are counted"],
];

function Price({ price }) {
  if (!price) return html`<${Nothing}>No price yet: put in your rates below.<//>`;
  return html`
    <div class="figures">
      <${Figure} what="Before tax" value=${money(price.net, price.currency)} how=${`${money(price.prime_cost, price.currency)} cost, and what is added`}>
        ${price.steps.map((s) => html`<${Tagged} tag="Added">${s.what}${s.percent === null ? "" : ` ${Number(s.percent)} % on ${money(s.on, price.currency)}`}: ${money(s.amount, price.currency)}<//>`)}
      <//>
      <${Figure} what="With tax" value=${money(price.total, price.currency)} how=${`${money(price.net, price.currency)} + ${money(price.tax, price.currency)} tax`} />
    </div>
    ${price.missing.length > 0 && html`<${Missing} rows=${price.missing} />`}
    ${price.risk?.ask.length > 0 && html`<${Asks} rows=${price.risk.ask} />`}
  `;
}

const Missing = ({ rows }) => html`
  <div class="warn">
    <p><b>Of the known part only.</b> ${rows.length} ${rows.length === 1 ? "price is" : "prices are"} missing: put in your rates and the prices of packs below.</p>
    <details class="inline"><summary>Which</summary><ul class="plainlist">${rows.map((r) => html`<li>${r}</li>`)}</ul></details>
  </div>
`;

const saveKey = (key, what) => (value) => change(what, [{ op: "set", key, value }]);

/** The rates that the price rests on: [price] and [gang] of the job file. */
function Rates({ rates }) {
  const field = (label, key, unit, read = readNumber) => html`
    <${Field} small label=${label} value=${plain(rates[key])} unit=${unit} read=${read} save=${saveKey([key === "people" ? "gang" : "price", key], label)} />
  `;
  return html`
    <div class="grid2">
      ${field("Currency", "currency", "", readText)} ${field("An hour of a plasterer", "labour_rate", rates.currency)}
      ${field("Plasterers", "people", "")} ${field("Waste away", "waste_rate", `${rates.currency} a tonne`)}
      ${field("On materials", "material_margin", "%")} ${field("Tax", "tax", "%")}
    </div>
    <p class="quiet">Overheads, profit and all else under [price] are in the job file: docs/job-file.md tells each.</p>
  `;
}

function Rule({ rule }) {
  const rules = useStore((s) => s.choices.rules);
  const here = rules.find((r) => r.slug === rule);
  return html`<${Choice} label="Rule of measurement" value=${rule} options=${titled(rules)} from=${here?.meaning} save=${saveKey(["measure", "rule"], "Rule of measurement")} />`;
}

/** What makes the price unsure, and the question that settles it: ask before signing. */
const Asks = ({ rows }) => html`
  <${Fold} title="Ask before you sign" note=${rows.length}>
    <ul class="plainlist">${rows.map((r) => html`<li>${r.ask} <span class="quiet">${r.what}: ${percent(r.share)} of the doubt</span></li>`)}</ul>
  <//>
`;

function Materials({ rows, currency }) {
  return html`
    <div class="table" tabindex="0" role="region" aria-label="Materials to buy">
      <table>
        <thead><tr><th scope="col">Material</th><th scope="col">With waste</th><th scope="col">Packs</th><th scope="col">Price</th></tr></thead>
        <tbody>
          ${rows.map(
            (m) => html`
              <tr>
                <th scope="row"><${Material} row=${m} currency=${currency} /></th>
                <td class="num">${amount(m.with_waste, m.unit ?? "")}</td>
                <td>${number(m.packs)} x ${m.pack}</td>
                <td class="num">${m.cost === null ? "none yet" : money(m.cost, currency)}</td>
              </tr>
            `,
          )}
        </tbody>
      </table>
    </div>
  `;
}

const Material = ({ row: m, currency }) => html`
  <details class="inline">
    <summary>${m.title}</summary>
    <p class="quiet">${m.how}</p>
    <${Field} small label=${`Price of one pack: ${m.pack}`} value=${plain(m.price)} unit=${currency} read=${readNumber} save=${saveKey(["materials", m.material, "price"], `Price of ${m.title}`)} />
    ${m.source && html`<p class="quiet">Source: ${m.source}</p>`}
  </details>
`;

function Printed() {
  const rooms = useStore((s) => s.found.rooms).filter((r) => r.printed_area_m2 !== null);
  if (!rooms.length) return html`<${Nothing}>The drawing prints no areas.<//>`;
  return html`
    <div class="table" tabindex="0" role="region" aria-label="Measured and printed areas">
      <table>
        <thead><tr><th scope="col">Room</th><th scope="col">Measured</th><th scope="col">Printed</th><th scope="col">Difference</th></tr></thead>
        <tbody>
          ${rooms.map((r) => html`<${PrintedRow} room=${r} />`)}
        </tbody>
      </table>
    </div>
  `;
}

function PrintedRow({ room }) {
  const off = (room.area_m2 - room.printed_area_m2) / room.printed_area_m2;
  const far = Math.abs(off) > NEAR;
  return html`
    <tr class=${far ? "far" : ""}>
      <th scope="row"><button type="button" class="link" onClick=${() => pick("room", room.ref)}>${room.ref} ${room.name}</button></th>
      <td class="num">${area(room.area_m2)}</td>
      <td class="num">${area(room.printed_area_m2)}</td>
      <td class="num">${off > 0 ? "+" : ""}${percent(off)}${far ? " look" : " agrees"}</td>
    </tr>
  `;
}
