// The surfaces of a room: size, what was taken off, what it is made of, what goes on it.
import { area, metres, plain, readLength } from "../format.js";
import { Choice, Field, Figure, Tagged } from "../parts.js";
import { useStore } from "../store.js";
import { change } from "../sync.js";
import { html } from "../ui.js";
import { titled } from "./RoomCard.js";

export const Surfaces = ({ detail }) => detail.surfaces.map((s) => html`<${Surface} key=${s.ref} surface=${s} />`);

/** Who settled what a surface is made of, in words. */
function decidedBy(from) {
  const [who, what] = from.split(": ");
  const words = { job: "as you said for the", drawing: "from the drawing:", default: "taken, because nothing says" };
  return words[who] ? `${words[who]} ${what ?? ""}`.trim() : from;
}

function Surface({ surface: s }) {
  const choices = useStore((st) => st.choices);
  const setKey = (key, what) => (value) =>
    change(`${what} of ${s.ref}`, [{ op: "set", key: ["surfaces", s.ref, key], value }]);
  const fits = choices.build_ups.filter(
    (b) => b.surfaces.includes(s.kind) && (!b.backgrounds?.length || b.backgrounds.includes(s.background)),
  );
  return html`
    <${Figure}
      what=${html`${s.ref} ${s.kind}`}
      value=${area(s.net_m2)}
      how=${s.how}
      rule=${s.rule}
      sources=${s.sources}
      handles=${s.handles}
      lines=${s.line ? [s.line] : []}
    >
      ${s.length_m > 0 && html`<${Tagged} tag="Size">${metres(s.length_m)} long, ${metres(s.height_m)} high<//>`}
      <${Tagged} tag="Whole">${area(s.gross_m2)}, ${area(s.deducted_m2)} taken off<//>
      <div class="grid2">
        <${Choice} small label=${`${s.ref} is`} value=${s.background} options=${titled(choices.backgrounds)} save=${setKey("background", "Background")} from=${decidedBy(s.background_from)} />
        <${Choice} small label=${`On ${s.ref}`} value=${s.build_up} options=${titled(fits)} save=${setKey("build_up", "Build-up")} />
        ${
          s.kind === "wall" &&
          html`<${Field} small label=${`Height of ${s.ref}`} value=${plain(s.height_m)} unit="m" read=${readLength} save=${setKey("height", "Height")} />`
        }
      </div>
    <//>
  `;
}
