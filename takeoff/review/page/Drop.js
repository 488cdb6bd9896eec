// Drawings come in by dropping them anywhere on the page or by choosing a file.
import { sendFile } from "./sync.js";
import { html, useEffect, useState } from "./ui.js";

const INPUT = "drawing-file";

/** Opens the file dialog of the browser. */
export const drawingInput = () => document.getElementById(INPUT)?.click();

export function Drop() {
  const [over, setOver] = useState(false);
  useEffect(() => {
    const carries = (event) => [...(event.dataTransfer?.types ?? [])].includes("Files");
    const enter = (event) => {
      if (!carries(event)) return;
      event.preventDefault();
      setOver(true);
    };
    const leave = (event) => event.relatedTarget === null && setOver(false);
    const drop = (event) => {
      if (!carries(event)) return;
      event.preventDefault();
      setOver(false);
      sendAll(event.dataTransfer.files);
    };
    const pairs = [
      ["dragenter", enter],
      ["dragover", enter],
      ["dragleave", leave],
      ["drop", drop],
    ];
    pairs.forEach(([name, does]) => addEventListener(name, does));
    return () => pairs.forEach(([name, does]) => removeEventListener(name, does));
  }, []);
  const chosen = (event) => {
    sendAll(event.target.files);
    event.target.value = "";
  };
  return html`
    <input id=${INPUT} hidden type="file" accept=".dxf" multiple onChange=${chosen} />
    ${over && html`<div class="drop" aria-hidden="true"><p>Let go to add this drawing to the job</p></div>`}
  `;
}

async function sendAll(files) {
  for (const file of files) await sendFile(file);
}

/** The page of a job that has no drawing yet. */
export function Start() {
  return html`
    <main class="start" id="lists" tabindex="-1">
      <h2>Start with a drawing</h2>
      <p>
        Choose the architect's plan as a DXF file, or drop it anywhere on this page. It stays on this computer. The
        program reads it, finds the rooms and openings, and asks you what the drawing does not settle.
      </p>
      <button type="button" class="main" onClick=${drawingInput}>Choose a drawing</button>
      <p class="quiet">Only a PDF or a DWG? Ask the architect for a DXF: any drawing program can save one.</p>
    </main>
  `;
}
