// What to beware of, with whose word it is. The program is no survey: these defer to local codes and licensed practice.
import { html } from "../ui.js";

export const Cautions = ({ rows }) => html`
  <ul class="plainlist">
    ${rows.map((c) => html`<li><b>${c.title}.</b> ${c.says} ${c.source && html`<span class="quiet">${c.source}</span>`}</li>`)}
  </ul>
`;
