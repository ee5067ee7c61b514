// At the line: a tap draws at once, is kept in this browser, and goes to the bench; the read-back comes with the answer.
import { Target, words } from "./target.js";
import { known, on } from "./live.js";
import { onAnswer, send, waiting } from "./outbox.js";
import { BENCH, api, ask, glyph, h, newId, now, pageData, sentenceOf, swap, tell, unit } from "./dom.js";

const data = pageData();
const $ = (id) => document.getElementById(id);
const KEEP = `spinewright.line.${BENCH}`;
const kept = (() => { try { return JSON.parse(localStorage.getItem(KEEP) || "{}"); } catch { return {}; } })();
const keep = () => localStorage.setItem(KEEP, JSON.stringify(kept));
const SOON = 300; // ms: what the bench confirms sooner is not first said to be on this device alone

let shafts = data.shafts.map((one) => ({ ...one }));
let walk = data.walk;
let holes = [];
let current = 0;
let chosen = null;
const back = []; // what undo takes back, newest last

// The walk this page adds to: the open one, or one whose taps still wait here, or a new one.
const waitingTaps = () => waiting().filter((entry) => entry.url.startsWith(api("/walks/")));
function walkOf(entry) { return entry.url.split("/")[5]; }
let walkId = walk?.open ? walk.id : null;
for (const entry of waitingTaps()) walkId ??= walkOf(entry);
walkId ??= newId("e");

const target = new Target($("target"), {
  free: () => !holes.some((hole) => hole.shaft === current),
  put: (x, y) => put(x, y),
  moved: (id, x, y) => change(id, { x, y }),
  leaned: (id, lean_x, lean_y) => change(id, { lean_x, lean_y }),
  chose: (id) => choose(id),
  remove: (id) => takeBack(id),
}, { label: "Target, seen from where you shoot", radius: data.arrow_radius || 0.003 });

function merge() {
  const found = (walk?.id === walkId ? walk.taps : []).map((tap) => ({ ...tap, waits: false }));
  for (const entry of waitingTaps()) {
    if (walkOf(entry) !== walkId) continue;
    const tap = { ...entry.body.tap, id: entry.id, waits: true, words: "" };
    const at = found.findIndex((one) => one.id === entry.id);
    if (at >= 0) found[at] = { ...found[at], ...tap }; else found.push(tap);
  }
  holes = found.filter((tap) => !tap.gone);
}

function walkWords() {
  const kind = $("kind").value;
  return {
    kind: kind === "shots" ? "shots" : "proof group", purpose: kind === "shots" ? null : kind,
    distance: $("distance").value.trim(), target: $("backing").value, square: $("square").checked ? null : false, when: (walk?.id === walkId && walk.when) || (kept.when ??= now()),
  };
}

// Since when a hole waits for the bench; one that waited already when the page was opened is not in it.
const asked = new Map();
const alone = (hole) => hole.waits && performance.now() - (asked.get(hole.id) ?? -SOON) >= SOON;

function save(hole) {
  if (!hole.waits) asked.set(hole.id, performance.now());
  hole.waits = true;
  setTimeout(() => {
    if (!holes.some(alone)) return;
    panel();
    list();
    const shown = holes.find((one) => one.id === chosen);
    if (shown && alone(shown)) readBack(`${said(shown)} Kept on this device only.`);
  }, SOON);
  const { shaft, state, x, y, lean_x = null, lean_y = null, bad = false, head = null, gone = false } = hole;
  send(hole.id, api(`/walks/${walkId}/taps/${hole.id}`), { walk: walkWords(), tap: { shaft, state, x, y, lean_x, lean_y, bad, head, gone } });
}

function put(x, y) {
  const shaft = shafts.find((one) => one.number === current);
  if (!shaft?.state) { tell("Say first whether this shaft is bare or fletched.", true); return; }
  tell("");
  if (!holes.length) { kept.when = now(); keep(); }
  const hole = { id: newId("t"), shaft: current, state: shaft.state, x, y, lean_x: null, lean_y: null, bad: false, head: $("head").value || null };
  holes.push(hole);
  back.push({ id: hole.id, before: null });
  chosen = hole.id;
  target.set(holes, chosen);
  save(hole);
  readBack(said(hole));
  const others = shafts.filter((one) => !one.broken && one.state && !holes.some((tap) => tap.shaft === one.number));
  const next = others.find((one) => one.number > current) || others[0];
  if (next) current = next.number;
  kept.shaft = current;
  keep();
  controls();
}

function change(id, what) {
  const hole = holes.find((one) => one.id === id);
  if (!hole) return;
  const was = saved.get(id) || {};
  back.push({ id, before: { ...was } });
  Object.assign(hole, what);
  remember();
  target.set(holes, chosen);
  save(hole);
  controls();
}

function takeBack(id) {
  const hole = holes.find((one) => one.id === id);
  if (!hole) return;
  back.push({ id, before: { ...hole } });
  hole.gone = true;
  save(hole);
  holes = holes.filter((one) => one.id !== id);
  choose(null);
  readBack(`Shaft ${hole.shaft} taken back.`);
}

function undo() {
  const last = back.pop();
  if (!last) { const newest = holes.at(-1); if (newest) { takeBack(newest.id); back.pop(); } return; }
  const hole = holes.find((one) => one.id === last.id);
  if (!last.before && hole) { takeBack(last.id); back.pop(); current = hole.shaft; controls(); return; }
  if (!last.before) return;
  const restored = { ...last.before, id: last.id, gone: false };
  if (hole) Object.assign(hole, restored); else holes.push(restored);
  save(restored);
  remember();
  target.set(holes, last.id);
  readBack(`Shaft ${restored.shaft} as it was before.`);
  controls();
}

// What each hole was before the finger moved it.
const saved = new Map();
function remember() { saved.clear(); for (const hole of holes) saved.set(hole.id, { ...hole }); }

function choose(id) {
  chosen = id;
  const hole = holes.find((one) => one.id === id);
  if (hole) readBack(said(hole));
  remember();
  target.set(holes, chosen);
  controls();
}

function readBack(text) { $("read-back").textContent = text; }

/** What the bench understood of a hole, or where it was tapped as long as the bench has not answered. */
function said(hole) { return (!hole.waits && hole.words) || `Shaft ${hole.shaft}, ${hole.state}: hole ${words(hole, unit.word)}.`; }

onAnswer(({ id, ok, answer, url, last }) => {
  if (!url.startsWith(api("/walks/"))) return;
  if (last) asked.delete(id);
  if (!ok) {
    const before = walk?.id === walkId && walk.taps.some((one) => one.id === id);
    tell(`${sentenceOf(answer)} ${before ? "This hole stays as it was." : "This hole is not kept."}`, true);
    merge();
    remember();
    chosen = null;
    target.set(holes, chosen);
    panel();
    controls();
    return;
  }
  known(answer.body.revision);
  if (answer.body.walk?.id === walkId) take(answer.body.walk, answer.body.revision);
  else if (!answer.body.walk) take({ id: walkId, open: true, taps: [], groups: {}, gap: null }, answer.body.revision);
  if (last && answer.body.said && (id === chosen || !chosen)) readBack(answer.body.said);
  cautions(answer.body.cautions);
});

let late = 0, newest = 0;
function take(found, revision) {
  // An answer that was overtaken by a later one says nothing new.
  if (revision >= newest) { newest = revision; walk = found; }
  if (walk && !walk.open && walk.id === walkId) {
    walkId = newId("e");
    kept.when = null;
    back.length = 0;
    tell("This walk was ended by another entry; all its holes are kept. What you tap now begins a new one.");
  }
  clearTimeout(late);
  if (target.held) { late = setTimeout(() => take(walk, newest), SOON); return; }
  merge();
  remember();
  target.set(holes, chosen);
  panel();
  controls();
}

function cautions(list) { $("cautions").replaceChildren(...(list || []).map((text) => h("p", { class: "care" }, text))); }

function panel() {
  const gap = walk?.id === walkId ? walk.gap : null;
  const groups = walk?.groups || {};
  const shown = gap && groups.fletched && groups.bare;
  const missing = holes.filter(alone).length;
  target.dress({ gap: shown ? { from: groups.fletched, to: groups.bare, allowed: gap.allowed } : null });
  $("gap").replaceChildren(
    gap ? h("p", { class: "big", "data-gap": "" }, `Bare from fletched: ${gap.text}`) : h("p", { class: "quiet" }, "Tap at least one fletched and one bare arrow of this walk: then their offset stands here."),
    gap ? h("p", {}, gap.words) : "",
    missing ? h("p", { class: "quiet" }, `Without ${missing === 1 ? "the hole that is" : `the ${missing} holes that are`} kept on this device: the bench counts ${missing === 1 ? "it" : "them"} as soon as it answers.`) : "",
  );
}

function list() {
  swap($("holes"), ...holes.map((hole) => h("tr", { "data-hole": hole.id },
    h("td", {}, h("button", { type: "button", onclick: () => choose(hole.id), "aria-pressed": String(hole.id === chosen), "aria-label": `Choose shaft ${hole.shaft}` }, glyph(hole.state), String(hole.shaft))),
    h("td", {}, said(hole), alone(hole) ? h("strong", { class: "unsent" }, "Kept on this device, not yet in the logbook") : ""),
    h("td", {}, h("button", { type: "button", onclick: () => takeBack(hole.id), "aria-label": `Take back the hole of shaft ${hole.shaft}` }, "Take back")),
  )));
  $("none").hidden = holes.length > 0;
  $("close").disabled = !holes.length;
}

function controls() {
  swap($("shafts"), ...shafts.map((shaft) => h("button", {
    type: "button", class: holes.some((hole) => hole.shaft === shaft.number) ? "done" : "", "aria-pressed": String(shaft.number === current), disabled: shaft.broken,
    "aria-label": `Shaft ${shaft.number}, ${shaft.broken ? "broken" : shaft.state || "not said whether bare or fletched"}`,
    onclick: () => { current = shaft.number; kept.shaft = current; keep(); choose(holes.find((hole) => hole.shaft === current)?.id || null); },
  }, String(shaft.number), shaft.state ? glyph(shaft.state) : "·")), h("button", { type: "button", onclick: addShaft, "aria-label": "Add the next shaft number" }, "+"));
  const shaft = shafts.find((one) => one.number === current);
  for (const state of ["fletched", "bare"]) $(state).setAttribute("aria-pressed", String(shaft?.state === state));
  const hole = holes.find((one) => one.id === chosen);
  $("bad").setAttribute("aria-pressed", String(Boolean(hole?.bad)));
  for (const name of ["bad", "straight", "take"]) $(name).disabled = !hole;
  $("next-shaft").textContent = `Next: shaft ${current}`;
  $("chosen-hole").textContent = hole ? `The chosen hole: shaft ${hole.shaft}` : "No hole is chosen";
  showCurrent();
  $("undo").disabled = !back.length && !holes.length;
  list();
}

let showing = false;
function showCurrent() {
  if (showing) return;
  showing = true;
  // Only with the next picture: by then the page is laid out anyway.
  requestAnimationFrame(() => {
    showing = false;
    const strip = $("shafts"), button = strip.querySelector("[aria-pressed='true']");
    if (button) strip.scrollLeft = Math.max(0, button.offsetLeft - strip.offsetLeft - strip.clientWidth / 2);
  });
}

function addShaft() {
  const number = Math.max(0, ...shafts.map((one) => one.number)) + 1;
  shafts.push({ number, state: shafts.find((one) => one.number === current)?.state || null, broken: false });
  current = number;
  kept.shafts = { ...kept.shafts, [number]: shafts.at(-1).state };
  keep();
  controls();
}

function setState(state) {
  const shaft = shafts.find((one) => one.number === current);
  if (!shaft) return;
  const hole = holes.find((one) => one.id === chosen && one.shaft === current);
  shaft.state = state;
  kept.shafts = { ...kept.shafts, [current]: state };
  keep();
  if (hole && hole.state !== state) change(hole.id, { state });
  controls();
}

function resend() { const newest = holes.at(-1); if (newest) save(newest); keep(); }

for (const [number, state] of Object.entries(kept.shafts || {})) {
  const known_ = shafts.find((one) => one.number === Number(number));
  if (known_) known_.state = state; else shafts.push({ number: Number(number), state, broken: false });
}
if (shafts.every((one) => !one.state)) shafts.forEach((one, at) => { one.state = at < Math.ceil(shafts.length / 2) ? "fletched" : "bare"; });
if (!data.goes_on) for (const [state, wanted] of [["fletched", 3], ["bare", 2]]) {
  // Before the first walk nobody knows which shafts there are: three fletched and two bare are offered.
  for (let number = 1; shafts.filter((one) => one.state === state).length < wanted; number += 1) {
    if (!shafts.some((one) => one.number === number)) shafts.push({ number, state, broken: false });
  }
}
shafts.sort((a, b) => a.number - b.number);


$("fletched").onclick = () => setState("fletched");
$("bare").onclick = () => setState("bare");
$("bad").onclick = () => { const hole = holes.find((one) => one.id === chosen); if (hole) change(hole.id, { bad: !hole.bad }); };
$("take").onclick = () => { if (chosen) takeBack(chosen); };
$("straight").onclick = () => { if (chosen) change(chosen, { lean_x: 0, lean_y: 0 }); };
$("undo").onclick = undo;
$("nearer").onclick = () => target.zoom(1.6);
$("further").onclick = () => target.zoom(1 / 1.6);
$("whole").onclick = () => target.fit();
$("distance").onchange = resend;
$("backing").onchange = resend;
$("kind").onchange = resend;
$("square").onchange = resend;
$("face").onchange = () => {
  const face = data.faces.find((one) => one.name === $("face").value);
  target.dress({ rings: face ? face.rings : [] });
};
$("close").onclick = async () => {
  if (waitingTaps().length) { tell("Some holes are not saved yet. They are sent as soon as the bench answers; end the walk after that.", true); return; }
  const answer = await ask("POST", api(`/walks/${walkId}/close`), {});
  if (!answer.ok) { tell(sentenceOf(answer), true); return; }
  location.href = `/b/${BENCH}/meaning`;
};
for (const chip of document.querySelectorAll("[data-distance]")) chip.onclick = () => { $("distance").value = chip.dataset.distance; resend(); };

// Several devices at one bow send many messages: one look at a time, and one more after it when there was news meanwhile.
let looking = false, news = 0;
on("changed", async (message) => {
  if (message.own && message.what === "tap") return;
  news = Math.max(news, message.revision);
  if (looking) return;
  looking = true;
  try {
    while (news) {
      const revision = news;
      news = 0;
      const answer = await ask("GET", api("/line"));
      if (!answer.ok) return;
      known(revision);
      const fresh = answer.body;
      if (fresh.revision < newest) continue;
      if (fresh.walk?.open && fresh.walk.id !== walkId && !waitingTaps().length && !holes.some((hole) => hole.waits)) walkId = fresh.walk.id;
      if (fresh.walk) take(fresh.walk, fresh.revision);
      else if (walk?.id === walkId && walk.open) { walkId = newId("e"); walk = null; holes = []; target.set(holes, null); panel(); controls(); }
    }
  } finally { looking = false; }
});

merge();
remember();
// A walk that goes on goes on with its shaft; a new one begins with the first.
const goesOn = holes.length && shafts.some((one) => one.number === Number(kept.shaft));
current = goesOn ? Number(kept.shaft) : (shafts.find((one) => !one.broken) || shafts[0]).number;
target.set(holes, null);
target.fit();
panel();
controls();
if (holes.length) readBack(said(holes.at(-1)));
else readBack(data.goes_on ? "Choose a shaft, then touch where its point went in." : "Shoot three fletched and two bare at one spot, make safe, walk. Then touch where each point went in.");
target.drawn.then(() => { performance.mark("usable"); document.body.dataset.ready = "yes"; });
