// The empty start: three questions make a bench.
import { ask, h, newId, sentenceOf, tell } from "./dom.js";

const form = document.getElementById("begin");
const id = newId("b");
const units = document.body.dataset.units;

function press(name, button) {
  for (const other of form.querySelectorAll(`[data-${name}]`)) if (other.tagName === "BUTTON") other.setAttribute("aria-pressed", String(other === button));
  if (name === "hand") for (const picture of document.querySelectorAll("[data-picture]")) picture.hidden = picture.dataset.picture !== button.dataset.hand;
  document.getElementById("not-yet").hidden = form.querySelector("[data-release='release aid']").getAttribute("aria-pressed") === "true";
}

if (form) {
  for (const name of ["hand", "release"]) for (const button of form.querySelectorAll(`button[data-${name}]`)) button.onclick = () => press(name, button);
  let then = "line";
  for (const button of form.querySelectorAll("[data-then]")) button.onclick = () => { then = button.dataset.then; };
  form.onsubmit = async (event) => {
    event.preventDefault();
    const chosen = (name) => form.querySelector(`[data-${name}][aria-pressed="true"]`).dataset[name];
    const values = { "scope.hand": chosen("hand"), "scope.release": chosen("release") };
    for (const field of form.querySelectorAll("[data-key]")) if (field.value.trim()) values[field.dataset.key] = field.value.trim();
    const answer = await ask("PUT", `/api/benches/${id}`, { from: "quick", values, units });
    if (!answer.ok) { wrong(answer); return; }
    location.href = `${answer.body.url}/${then}`;
  };
}

function wrong(answer) {
  tell(sentenceOf(answer), true);
  const field = answer.body?.error?.field;
  if (field === "scope.release") form?.querySelector("[data-release='release aid']").focus();
  const place = field && form?.querySelector(`[data-key="${CSS.escape(field)}"]`);
  if (place) { place.setAttribute("aria-invalid", "true"); place.focus(); }
}

const bring = document.getElementById("bring");
if (bring) {
  if (location.hash === "#import") document.getElementById("import").open = true;
  bring.onclick = async () => {
    const file = document.getElementById("file").files[0];
    if (!file) { tell("Choose a session file first.", true); return; }
    const answer = await ask("PUT", `/api/benches/${newId("b")}`, { from: "file", text: await file.text(), name: file.name });
    if (answer.ok) location.href = answer.body.url; else tell(sentenceOf(answer), true);
  };
}

const joinLogbook = document.getElementById("join-logbook");
if (joinLogbook) {
  joinLogbook.onclick = async () => {
    const file = document.getElementById("logbook").files[0];
    if (!file) { tell("Choose a logbook file first.", true); return; }
    const answer = await ask("POST", "/api/logbook/import", { text: await file.text(), name: file.name });
    if (!answer.ok) { tell(sentenceOf(answer), true); return; }
    const found = answer.body;
    document.getElementById("joined").replaceChildren(
      h("ul", {}, ...found.words.map((one) => h("li", {}, one))),
      ...found.disputes.map((one) => h("div", { class: "care" }, h("h3", {}, `Does not go together: ${one.bench}`), h("ul", {}, ...one.words.map((words) => h("li", {}, words))))),
      ...(found.changed ? [h("p", {}, h("a", { class: "button", href: "/" }, "Show all benches"))] : []),
    );
  };
}
