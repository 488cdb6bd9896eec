// How the drawing was read: its unit and what speaks for it, and what each layer was taken for.
import { drawingInput } from "../Drop.js";
import { Choice, Figure, Fold, useFilter } from "../parts.js";
import { look, set, useStore } from "../store.js";
import { change } from "../sync.js";
import { startOn } from "../plan/ToolBar.js";
import { html } from "../ui.js";

export function Drawing() {
  const plan = useStore((s) => s.plan);
  return html`
    <h2>Drawing</h2>
    <button type="button" class="plain" onClick=${drawingInput}>Add a drawing</button>
    <${Unit} unit=${plan.unit} />
    <h3>Layers</h3>
    <p class="quiet">What each layer was taken for. Leave a layer out where it confuses the walls.</p>
    <${Layers} layers=${plan.layers} />
    <${Fold} title="The job file"><${JobFile} /><//>
  `;
}

const UNITS = { mm: "millimetres", cm: "centimetres", m: "metres", in: "inches", ft: "feet" };

function Unit({ unit }) {
  const units = useStore((s) => s.choices.units);
  const save = (value) =>
    change("Unit of the drawing", [
      { op: "unset", key: ["drawing", "known_length"] }, // the job file gives one of the two
      { op: "set", key: ["drawing", "unit"], value },
    ]);
  return html`
    <div class="grid2">
      <${Choice} label="Drawn in" value=${unit.name} options=${units.map((u) => ({ value: u, title: UNITS[u] ?? u }))} save=${save} />
      <div class="field">
        <span class="field__label">Or by one length you know</span>
        <button type="button" class="plain" onClick=${() => startOn("length")}>Pick its two ends</button>
      </div>
    </div>
    <${Figure} what="What speaks for it" value=${`${unit.evidence.length} witnesses`} how=${`one drawn unit is ${unit.metres_per_unit} m`}>
      <ul class="plainlist">
        ${unit.evidence.map((e) => html`<li>${UNITS[e.unit] ?? e.unit}: ${e.says} <span class="quiet">(${e.witness})</span></li>`)}
      </ul>
    <//>
  `;
}

function Layers({ layers }) {
  const [rows, text, setText] = useFilter(layers, (l) => `${l.name} ${l.role}`);
  return html`
    <label class="search">Find a layer <input type="search" value=${text} onInput=${(e) => setText(e.target.value)} /></label>
    <ul class="layers">
      ${rows.filter((l) => l.entities > 0 || l.ignored).map((l) => html`<${LayerRow} key=${l.name} layer=${l} layers=${layers} />`)}
    </ul>
  `;
}

function LayerRow({ layer, layers }) {
  const byHand = layer.ignored; // "ignored: ..." in its role is the program's own finding
  const toggle = (out) => {
    const now = layers.filter((l) => l.ignored && l.name !== layer.name).map((l) => l.name);
    const value = out ? [...now, layer.name] : now;
    const op = value.length
      ? { op: "set", key: ["drawing", "ignore_layers"], value }
      : { op: "unset", key: ["drawing", "ignore_layers"] };
    change(`Layer ${layer.name} ${out ? "left out" : "read again"}`, [op]);
  };
  return html`
    <li class="between">
      <span>
        <b>${layer.name}</b> <span class="quiet">${roleOf(layer)}, ${layer.entities} drawn</span>
      </span>
      <span class="row">
        <button type="button" class="plain" aria-label=${`Show layer ${layer.name}`} onClick=${() => showLayer(layer, layers)}>Show</button>
        ${
          (byHand || !layer.role.startsWith("ignored")) &&
          html`<button type="button" class="plain" aria-label=${`${byHand ? "Read" : "Leave out"} layer ${layer.name}`} onClick=${() => toggle(!byHand)}>${byHand ? "Read it" : "Leave out"}</button>`
        }
      </span>
    </li>
  `;
}

function roleOf({ role, ignored }) {
  if (ignored) return "left out by you";
  if (!role) return "nothing on it counts";
  return role.startsWith("ignored: ") ? `taken for ${role.slice(9)}, left out` : `taken for ${role}`;
}

function showLayer(layer, layers) {
  const index = layers.indexOf(layer);
  const { entities } = look().plan;
  set({ shown: { handles: entities.filter((e) => e.layer === index).map((e) => e.handle), what: layer.name } });
}

function JobFile() {
  const job = useStore((s) => s.job);
  return html`
    <p class="quiet">All that is said on this page stands in ${job.job?.path_name}, which any text editor opens. Change it there and this page follows.</p>
    <pre class="jobfile" tabindex="0" aria-label="Text of the job file">${job.job?.text}</pre>
  `;
}
