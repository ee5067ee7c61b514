// A task around the tune: its answers sent as they were written, its account shown when it is there.
import { api, ask, newId, now, pageData, sentenceOf, tell } from "./dom.js";
import { follow, known, refresh, start } from "./live.js";

const form = document.getElementById("task");
const what = `around-${form.dataset.task}`;
const show = follow(document.getElementById("task-job"), refresh);
const job = pageData().job;
if (job) show(job);

/** Every answer as lines; a table stays one text. */
function given() {
  const found = {};
  for (const field of form.querySelectorAll("[data-key]")) {
    const text = field.value.trim();
    if (!text) continue;
    found[field.dataset.key] = field.dataset.form === "lines" ? text.split("\n").map((one) => one.trim()).filter(Boolean) : [text];
  }
  return found;
}

async function keep(answers) {
  const rows = Object.entries(answers).flatMap(([question, lines]) => lines.map((answer) => ({ question, answer })));
  const event = { kind: "answers", to: form.dataset.task, answers: rows, when: now() };
  const saved = await ask("PUT", api(`/events/${newId("e")}`), { event });
  if (!saved.ok) { tell(sentenceOf(saved), true); return false; }
  known(saved.body.revision);
  return true;
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  tell("");
  const answers = given();
  if (document.getElementById("keep").checked && Object.keys(answers).length && !(await keep(answers))) return;
  await start(what, { given: answers }, show, refresh);
});

for (const chooser of form.querySelectorAll("[data-fills]")) {
  chooser.addEventListener("change", async () => {
    const [file] = chooser.files;
    if (!file) return;
    if (file.size > 4_000_000) { tell("This file is too large; choose a table of at most 4 MB.", true); return; }
    document.getElementById(chooser.dataset.fills).value = await file.text();
  });
}
document.body.dataset.ready = "yes";
