// The story so far: offsets over time, undo, and things logged by hand.
import { api, ask, h, metric, newId, now, pageData, s, sentenceOf, tell, unit } from "./dom.js";
import { known, on, refresh } from "./live.js";

const $ = (id) => document.getElementById(id);

function draw() {
  const data = pageData();
  const W = innerWidth < 700 ? 400 : 620, H = 250, l = 40, first = data.events[0]?.number || 1, last = Math.max(...data.events.map((one) => one.number), first + 1);
  const all = data.gaps.map((one) => ({ number: one.number, size: one.size, doubt: one.ellipse?.major || 0, text: one.text }));
  const svg = s("svg", { class: "drawing", viewBox: `0 0 ${W} ${H}`, role: "img", "aria-label": all.length ? `Offset over time: ${all.map((one) => one.text).join("; ")}` : "No offset yet" });
  $("gaps").nextElementSibling.hidden = !all.length; // nothing is explained that is not there
  if (!all.length) { $("gaps").replaceChildren(h("p", { class: "quiet" }, "The offset over time stands here once bare and fletched were shot on one walk.")); return; }
  const most = Math.max(...all.map((one) => one.size + one.doubt), ...data.beliefs.map((one) => Math.hypot(one.gap.x, one.gap.y)), unit.size);
  const x = (n) => l + 14 + ((n - first) / (last - first)) * (W - l - 40), y = (m) => H - 36 - (m / most) * (H - 60);
  const step = unit.size * Math.max(1, Math.ceil(most / unit.size / 6));
  for (let n = 0; n * step <= most; n += 1) svg.append(s("path", { d: `M${l} ${y(n * step)}H${W - 12}`, stroke: n ? "var(--grid)" : "var(--line)" }), s("text", { x: l - 6, y: y(n * step) + 4, "text-anchor": "end", "font-size": 11 }, String(Math.round((n * step) / unit.size))));
  svg.append(s("text", { x: l, y: 15, "font-size": 12 }, `offset, ${metric ? "cm" : "inches"}`), s("text", { x: W - 12, y: H - 6, "text-anchor": "end", "font-size": 12 }, "entry"));
  for (const one of data.events) if (["rest moved", "nock point moved", "bolts turned", "cut", "point changed", "nock turned", "shaft changed"].includes(one.kind) && one.counts) {
    svg.append(s("path", { d: `M${x(one.number)} ${y(0)}v-10`, class: "ink", "stroke-width": 2 }), s("text", { x: x(one.number), y: H - 20, "text-anchor": "middle", "font-size": 10.5 }, one.kind === "cut" ? "cut" : one.kind.split(" ")[0]));
  }
  svg.append(s("path", { d: all.map((one, at) => `${at ? "L" : "M"}${x(one.number)} ${y(one.size)}`).join(""), class: "bare", "stroke-width": 1.4, opacity: 0.6 }));
  for (const one of all) svg.append(s("path", { d: `M${x(one.number)} ${y(Math.max(one.size - one.doubt, 0))}V${y(one.size + one.doubt)}`, class: "bare", "stroke-width": 2 }), s("circle", { cx: x(one.number), cy: y(one.size), r: 5, class: "bare", "stroke-width": 2.4, fill: "var(--sheet)" }));
  for (const one of data.beliefs) svg.append(s("rect", { x: x(one.number) - 4, y: y(Math.hypot(one.gap.x, one.gap.y)) - 4, width: 8, height: 8, class: "ink", "stroke-width": 1.8 }));
  $("gaps").replaceChildren(svg);
}

// --- things done at the bench, logged by hand ----------------------------------------------------------------------
const FIELDS = {
  "rest moved": [["clicks", "Clicks", "left 3, up 2"], ["measured", "Or measured", metric ? "left 0.4 mm" : "left 0.014 in"]],
  "nock point moved": [["measured", "Measured", metric ? "up 0.8 mm" : "up 0.03 in"]],
  "bolts turned": [["both_bolts", "Both limb bolts", "out 1/2"], ["weighed", "Peak weight then", "61 lb"]],
  "point changed": [["mass", "Mass in front", metric ? "7.1 g" : "110 gr"], ["length", "Stands out", metric ? "25 mm" : "1 in"]],
  cut: [["throat_length", "Nock throat to shaft end, measured now", metric ? "746 mm" : "29 3/8 in"], ["carbon_length", "Shaft end to shaft end, measured now", metric ? "730 mm" : "28 3/4 in"]],
  "nock turned": [["turned", "Nocks of the whole set", "clockwise 40 deg"], ["shaft", "One shaft alone", ""]],
  "flex check": [["shaft", "Number on the shaft", "3"], ["sound", "Sound: yes or no", "yes"]],
  "shaft set aside": [["shaft", "Number on the shaft", "3"]],
  chronograph: [["state", "bare or fletched", "fletched"], ["speed", "Speed", metric ? "86.5 m/s" : "284 ft/s"]],
  "sight moved": [["clicks", "Clicks", "left 2, up 4"]],
};
function fields() {
  $("what-fields").replaceChildren(...FIELDS[$("what").value].map(([key, label, example]) => h("label", { class: "field", for: `h-${key}` }, h("span", {}, label), h("input", { type: "text", id: `h-${key}`, "data-hand": key, placeholder: example, autocomplete: "off" }))));
}
$("what").onchange = fields;
fields();
let sureOf = null;
$("hand-log").onsubmit = async (event) => {
  event.preventDefault();
  const body = { kind: $("what").value };
  for (const field of document.querySelectorAll("#what-fields [data-hand]")) {
    const text = field.value.trim();
    if (!text) continue;
    body[field.dataset.hand] = field.dataset.hand === "shaft" ? Number(text) : field.dataset.hand === "sound" ? text.toLowerCase() === "yes" : text;
  }
  const sure = sureOf === JSON.stringify(body);
  const answer = await ask("PUT", api(`/events/${newId("e")}`), { event: body, sure, when: now() });
  sureOf = null;
  if (answer.body?.confirm) {
    const c = answer.body.confirm;
    tell(`${c.words.join(" ")} Left: ${c.left.text}; shortest safe length: ${c.safe ? c.safe.text : "no mark yet"}.${c.allowed ? " Press 'Log it' once more if it is cut so." : ""}`, true);
    if (c.allowed) sureOf = JSON.stringify(body);
    return;
  }
  tell(answer.ok ? answer.body.said.join(" ") : sentenceOf(answer), !answer.ok);
  if (answer.ok) { known(answer.body.bench.revision); fields(); $("what").focus({ preventScroll: true }); await refresh(); }
};
document.addEventListener("refreshed", draw);
on("changed", (message) => { if (!message.own) refresh(); });
draw();
document.body.dataset.ready = "yes";
