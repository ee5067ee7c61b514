// The nock dial: one shaft shot with its nock turned step by step; each reading is a place, the series one event.
import { Pad } from "./pad.js";
import { BENCH, api, h, newId, now, pageData, s, tell, unit } from "./dom.js";
import { known, refresh } from "./live.js";
import { onAnswer, send } from "./outbox.js";

const $ = (id) => document.getElementById(id);
const KEEP = `spinewright.nock.${BENCH}`;
const data = pageData();
let readings = JSON.parse(localStorage.getItem(KEEP) || "[]");
let turned = readings.length ? readings.at(-1).nock + 20 : 0;
let id = newId("e");
const paper = () => $("through").value === "paper";
const pad = new Pad($("tear"), () => {}, { label: "Where the tail tore, or the hole is, at this nock angle: drag, or use the arrow keys", state: () => $("state").value });

const dial = s("svg", { class: "drawing", viewBox: "-150 -150 300 300", role: "slider", tabindex: 0, "aria-label": "How far the nock is turned", "aria-valuemin": 0, "aria-valuemax": 340, "aria-valuenow": 0 });
$("dial").append(dial);

function draw() {
  const sign = $("turning").value === "clockwise" ? 1 : -1;
  const g = [];
  for (let a = 0; a < 360; a += 10) {
    const t = (a * Math.PI) / 180, long = a % 20 === 0 ? 16 : 8;
    g.push(s("line", { x1: 106 * Math.sin(t), y1: -106 * Math.cos(t), x2: (106 - long) * Math.sin(t), y2: -(106 - long) * Math.cos(t), stroke: "var(--line)", "stroke-width": a % 20 ? 1 : 1.8 }));
    if (a % 40 === 0) g.push(s("text", { x: 128 * Math.sin(t), y: -128 * Math.cos(t) + 7, "text-anchor": "middle" }, String(sign > 0 ? a : (360 - a) % 360)));
  }
  const most = Math.max(0.005, ...readings.map((one) => Math.hypot(one.x, one.y)));
  for (const one of readings) {
    const t = (sign * one.nock * Math.PI) / 180, far = (Math.hypot(one.x, one.y) / most) * 78;
    g.push(s("line", { x1: 0, y1: 0, x2: far * Math.sin(t), y2: -far * Math.cos(t), class: "bare", "stroke-width": 2.4 }), s("circle", { cx: far * Math.sin(t), cy: -far * Math.cos(t), r: 4, class: "bare-fill" }));
  }
  const t = sign * turned;
  g.push(s("g", { transform: `rotate(${t})` }, s("circle", { r: 22, class: "ink", "stroke-width": 2 }), s("path", { d: "M-5 -22v16h10v-16", class: "ink", "stroke-width": 2 }), s("path", { d: "M0 -86v50M-6 -78 0 -90 6 -78", class: "ink", "stroke-width": 2.4 })));
  dial.replaceChildren(...g);
  dial.setAttribute("aria-valuenow", turned);
  dial.setAttribute("aria-valuetext", `${turned} degrees ${$("turning").value}`);
  $("angle").textContent = `${turned}°`;
  $("way").textContent = $("turning").value;
  $("readings").replaceChildren(...readings.map((one) => h("li", {}, `${one.nock}°: ${place(one)}`)));
  $("none").hidden = readings.length > 0;
  $("save").disabled = readings.length < 3;
  pad.paper = paper();
  pad.reach = paper() ? 0.051 : 0.2;
  pad.others = readings;
  pad.draw();
}

function place({ x, y }) {
  const side = (value, plus, minus) => (Math.abs(value) < unit.size / 40 ? "" : `${value > 0 ? plus : minus} ${(Math.abs(value) / unit.size).toFixed(2)} ${unit.word}`);
  return [side(x, "right", "left"), side(y, "high", "low")].filter(Boolean).join(", ") || "clean";
}

function turn(to) { turned = ((Math.round(to / 20) * 20) % 360 + 360) % 360; draw(); }
function keep() { localStorage.setItem(KEEP, JSON.stringify(readings)); draw(); }

dial.addEventListener("pointerdown", (event) => {
  const box = dial.getBoundingClientRect();
  const angle = (Math.atan2(event.clientX - box.left - box.width / 2, -(event.clientY - box.top - box.height / 2)) * 180) / Math.PI;
  turn($("turning").value === "clockwise" ? angle : -angle);
});
dial.addEventListener("keydown", (event) => {
  const by = { ArrowRight: 20, ArrowUp: 20, ArrowLeft: -20, ArrowDown: -20 }[event.key];
  if (by) { event.preventDefault(); turn(turned + by); }
});
$("more").onclick = () => turn(turned + 20);
$("less").onclick = () => turn(turned - 20);
$("keep").onclick = () => {
  readings = readings.filter((one) => one.nock !== turned).concat({ nock: turned, x: pad.x, y: pad.y }).sort((a, b) => a.nock - b.nock);
  $("read-back").textContent = `Reading at ${turned}° kept in this browser. ${readings.length < 3 ? "At least three make a series." : "Save the series when you are through."}`;
  turned = (turned + 20) % 360;
  pad.clear();
  keep();
};
$("drop").onclick = () => { readings.pop(); keep(); };
for (const name of ["through", "turning", "state"]) $(name).onchange = draw;
$("save").onclick = () => {
  const key = paper() ? "tail_xy" : "hole_xy";
  const event = { kind: "nock series", shaft: Number($("shaft").value), state: $("state").value, distance: $("distance").value.trim(), through: $("through").value, turning: $("turning").value, readings: readings.map((one) => ({ nock: `${one.nock} deg`, [key]: [one.x, one.y] })) };
  send(id, api(`/events/${id}`), { event, when: now() });
  $("read-back").textContent = "The series is kept in this browser; on its way to the bench …";
};
onAnswer(({ ok, answer, url }) => {
  if (!url.startsWith(api("/events/"))) return;
  id = newId("e");
  if (!ok) { tell(answer.body?.error?.sentence || "This series could not be kept.", true); return; }
  known(answer.body.bench.revision);
  readings = [];
  turned = 0;
  keep();
  $("read-back").textContent = `Kept. ${answer.body.said.join(" ")}`;
  refresh();
});
if (data.last?.through) $("through").value = data.last.through;
draw();
document.body.dataset.ready = "yes";
