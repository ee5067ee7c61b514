// Join with a phone: the code and the devices are kept fresh while they are looked at; a device is taken off.
import { ask, sentenceOf, tell } from "./dom.js";
import { refresh } from "./live.js";

const EVERY = 3000;

if (document.querySelector("[data-live=devices]")) setInterval(() => { if (!document.hidden) refresh(); }, EVERY);

document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-take-off]");
  if (!button) return;
  const name = button.closest("[data-device]").querySelector("strong").textContent;
  button.disabled = true;
  const answer = await ask("DELETE", `/api/devices/${button.dataset.takeOff}`);
  button.disabled = false;
  tell(answer.ok ? `${name} was taken off.` : sentenceOf(answer), !answer.ok);
  if (answer.ok || answer.status === 404) await refresh();
});
