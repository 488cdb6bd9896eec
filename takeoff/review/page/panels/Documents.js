// Documents: made on request, with progress, stopped, downloaded.
import { getBlob, post } from "../api.js";
import { bytes } from "../format.js";
import { Nothing } from "../parts.js";
import { say, useStore } from "../store.js";
import { html } from "../ui.js";

const KINDS = [
  { kind: "measure", word: "Make the takeoff", says: "Workbook, marked plan and quantities." },
  {
    kind: "quote",
    word: "Make the quotation",
    says: "All of that, and the quotation, programme, buying list, site schedule and boards. Takes longer.",
  },
];

const tell = (path, body) => post(path, body).catch((fault) => say(fault.message, "fault"));

export function Documents() {
  const documents = useStore((s) => s.job.documents);
  const version = useStore((s) => s.job.version);
  const open = useStore((s) => s.found?.queries.length ?? 0);
  const running = documents.state === "running";
  return html`
    <h2>Documents</h2>
    ${open > 0 && html`<p class="quiet">${open} ${open === 1 ? "query is" : "queries are"} still open; the documents list ${open === 1 ? "it" : "them"} as assumptions.</p>`}
    ${
      running
        ? html`<${Progress} documents=${documents} />`
        : KINDS.map(
            ({ kind, word, says }) => html`
            <div class="make">
              <button type="button" class="main" onClick=${() => tell("/api/documents", { kind })}>${word}</button>
              <p class="quiet">${says}</p>
            </div>
          `,
          )
    }
    ${documents.state === "failed" && html`<p class="fault" role="alert">${documents.says}</p>`}
    <${Files} documents=${documents} old=${documents.files.length > 0 && documents.version !== version} />
  `;
}

function Progress({ documents }) {
  return html`
    <div class="progress">
      <label for="documents-progress">${documents.says || "Working"}</label>
      <progress id="documents-progress" max="1" value=${documents.done}></progress>
      <button type="button" class="plain" onClick=${() => tell("/api/documents/stop")}>Stop</button>
    </div>
  `;
}

function Files({ documents, old }) {
  if (!documents.files.length) return html`<${Nothing}>No documents yet.<//>`;
  return html`
    ${old && html`<p class="warn">The job has changed since these were made. Make them again.</p>`}
    <ul class="rows">
      ${documents.files.map(
        (file) => html`
          <li>
            <button type="button" class="rowbutton rowbutton--file" onClick=${() => download(file)}>
              <span class="rowbutton__name">${file.title}</span>
              <span class="rowbutton__note">${file.name}</span>
              <span class="rowbutton__figure">${bytes(file.size)}</span>
            </button>
          </li>
        `,
      )}
    </ul>
  `;
}

async function download(file) {
  try {
    const url = URL.createObjectURL(await getBlob(`/api/documents/file/${encodeURIComponent(file.name)}`));
    const link = document.createElement("a");
    link.href = url;
    link.download = file.name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(url), 10000);
  } catch (fault) {
    say(fault.message, "fault");
  }
}
