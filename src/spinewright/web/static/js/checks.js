// The two-minute bow check, the contact check and the shortest-safe-length mark.
import { api, ask, newId, now, sentenceOf, tell } from "./dom.js";
import { known, refresh } from "./live.js";

const box = (kind) => document.querySelector(`[data-check="${kind}"]`);

function press(button, pressed = true) {
  for (const other of button.parentElement.querySelectorAll("button")) other.setAttribute("aria-pressed", String(pressed && other === button));
}

async function save(kind) {
  const event = { kind };
  if (kind === "safe length") {
    event.mark = document.querySelector("[data-key='mark']").value.trim();
    for (const one of document.querySelectorAll("[data-safe]")) event[one.dataset.safe] = one.checked;
  } else {
    for (const button of box(kind).querySelectorAll("[aria-pressed='true']")) event[button.dataset.item] = button.dataset.say === "true";
    const weighed = document.querySelector("[data-key='weighed']").value.trim();
    if (kind === "bow check" && weighed) event.weighed = weighed;
  }
  tell(""); // what was kept before says nothing of this one
  const answer = await ask("PUT", api(`/events/${newId("e")}`), { event, when: now() });
  tell(answer.ok ? `Kept. ${answer.body.said.join(" ")}` : sentenceOf(answer), !answer.ok);
  scrollTo({ top: 0 });
  if (answer.ok) { known(answer.body.bench.revision); await refresh(); }
}

document.addEventListener("click", (event) => {
  const item = event.target.closest("[data-item]");
  const all = event.target.closest("[data-all]");
  const keep = event.target.closest("[data-save]");
  if (item) press(item, item.getAttribute("aria-pressed") !== "true");
  if (all) for (const button of box(all.dataset.all).querySelectorAll("[data-say='true']")) press(button);
  if (keep) save(keep.dataset.save);
});
document.body.dataset.ready = "yes";
