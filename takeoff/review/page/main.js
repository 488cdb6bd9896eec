// Starts the page and listens for the keys that work everywhere.
import { App } from "./app.js";
import { follow, redo, undo } from "./sync.js";
import { html, render } from "./ui.js";

addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
  if (event.target.matches?.("input[type=text]:not([data-saved]), input[type=search]")) return; // the field's own undo
  event.preventDefault();
  if (event.shiftKey) redo();
  else undo();
});

const root = document.getElementById("page");
root.replaceChildren();
render(html`<${App} />`, root);
follow();
