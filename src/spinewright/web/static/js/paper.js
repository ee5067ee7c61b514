// The paper screen: draw one's own tear; read back as it is drawn, kept as an event.
import { Pad } from "./pad.js";
import { BENCH, api, ask, newId, now, tell } from "./dom.js";
import { known, on, refresh } from "./live.js";
import { onAnswer, send } from "./outbox.js";

const $ = (id) => document.getElementById(id);
let state = $("bare").getAttribute("aria-pressed") === "true" ? "bare" : "fletched";
let id = newId("e");
let reading = 0;
let turn = 0; // an answer to what was drawn before says nothing of what is drawn now
const pad = new Pad($("tear"), () => soon(), { label: "The paper, seen from where you stood: drag the tail, or use the arrow keys", state: () => state });

const event = () => ({ kind: "tear", shaft: Number($("shaft").value), state, distance: $("distance").value.trim(), tail_xy: [pad.x, pad.y], ...($("bad").getAttribute("aria-pressed") === "true" ? { bad: true } : {}) });

function soon() {
  clearTimeout(reading);
  const mine = (turn += 1);
  reading = setTimeout(async () => {
    const answer = await ask("POST", api("/read"), { event: event() });
    if (mine !== turn) return;
    if (answer.ok) $("read-back").textContent = answer.body.said.join(" ");
    else if (answer.body?.error) $("read-back").textContent = answer.body.error.sentence;
  }, 120);
}

function press(name) {
  state = name;
  for (const one of ["bare", "fletched"]) $(one).setAttribute("aria-pressed", String(one === name));
  pad.draw();
  soon();
}

$("bare").onclick = () => press("bare");
$("fletched").onclick = () => press("fletched");
$("bad").onclick = () => { $("bad").setAttribute("aria-pressed", String($("bad").getAttribute("aria-pressed") !== "true")); soon(); };
$("clear").onclick = () => pad.clear();
$("distance").onchange = soon;
$("shaft").onchange = soon;
for (const chip of document.querySelectorAll("[data-distance]")) chip.onclick = () => { $("distance").value = chip.dataset.distance; soon(); };
$("save").onclick = () => {
  clearTimeout(reading);
  turn += 1;
  send(id, api(`/events/${id}`), { event: event(), when: now() });
  $("read-back").textContent = "Kept in this browser; on its way to the bench …";
  id = newId("e");
};
onAnswer(({ ok, answer, url }) => {
  if (!url.startsWith(`/api/benches/${BENCH}/events/`)) return;
  if (!ok) { tell(answer.body?.error?.sentence || "This tear could not be kept.", true); return; }
  known(answer.body.bench.revision);
  tell("");
  $("read-back").textContent = `Kept. ${answer.body.said.join(" ")}`;
  refresh();
});
on("changed", (message) => { if (!message.own) refresh(); });
document.body.dataset.ready = "yes";
