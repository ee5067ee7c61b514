// On every page: units, the worked demo, undo.
import { api, ask, newId, now, sentenceOf, tell } from "./dom.js";
import "./outbox.js";
import { known, refresh } from "./live.js";

document.getElementById("units").onclick = async (event) => {
  const other = event.currentTarget.dataset.now === "inch" ? "metric" : "inch";
  const answer = await ask("PUT", "/api/units", { units: other });
  if (answer.ok) location.reload(); else tell(sentenceOf(answer), true);
};

document.addEventListener("click", async (event) => {
  const demo = event.target.closest("[data-demo]");
  const undo = event.target.closest("[data-undo]");
  if (demo) {
    const answer = await ask("PUT", `/api/benches/${newId("b")}`, { from: "story" });
    if (answer.ok) location.href = answer.body.url; else tell(sentenceOf(answer), true);
  }
  if (undo && undo.ariaDisabled !== "true") {
    undo.ariaDisabled = "true"; // a button that is disabled would lose the keyboard
    const answer = await ask("PUT", api(`/events/${newId("e")}`), { event: { kind: "undo", undoes: undo.dataset.undo }, when: now() });
    undo.ariaDisabled = null;
    tell(answer.ok ? answer.body.said.join(" ") : sentenceOf(answer), !answer.ok);
    if (answer.ok) { known(answer.body.bench.revision); await refresh(); }
  }
});
