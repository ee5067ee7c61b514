// What it means: work out the next move, log it once it is done, confirm a cut; drawings of offset and moves.
import { api, ask, h, newId, now, pageData, sentenceOf, tell } from "./dom.js";
import { follow, known, on, refresh, start } from "./live.js";
import { plot } from "./plot.js";

const page = document.body.dataset.page;
const place = h("div", { id: "job" });
(document.getElementById("job") || document.querySelector("h1")).after(place);
const showJob = follow(place, () => refresh());
/** While it is worked out nobody needs the button that asks for it. */
function hideAsking() { for (const button of document.querySelectorAll("[data-ask]")) button.hidden = Boolean(place.querySelector("progress")); }
new MutationObserver(hideAsking).observe(place, { childList: true });
const show = (job) => { showJob(job); hideAsking(); };
const work = () => start("next", { bows: 500 }, show, () => refresh());

document.addEventListener("click", async (event) => {
  const asked = event.target.closest("[data-ask]");
  const log = event.target.closest("[data-log]");
  const did = event.target.closest("[data-did]");
  if (asked) { place.scrollIntoView({ block: "nearest" }); work(); }
  const data = pageData();
  if (log) await done(data.log[Number(log.dataset.log)].events);
  if (did) await done([data.chosen, ...data.others].filter(Boolean)[Number(did.dataset.did)].events);
});

async function done(events) {
  const said = [];
  for (const event of events) {
    const answer = event.kind === "cut" ? await cut(event) : await ask("PUT", api(`/events/${newId("e")}`), { event, when: now() });
    if (!answer) return;
    if (!answer.ok) { tell(sentenceOf(answer), true); return; }
    known(answer.body.bench.revision);
    said.push(...answer.body.said);
  }
  tell(`Logged. ${said.join(" ")} Now shoot a few bare and fletched arrows, and tap them in: then you see whether it came true.`);
  document.getElementById("told").append(h("p", {}, h("a", { class: "button go", href: `/b/${document.body.dataset.bench}/line` }, "On to the line")));
  scrollTo({ top: 0 });
  await refresh();
}

/** Ask for the measured lengths, show what is left, and send only after a plain yes. */
function cut(event) {
  return new Promise((resolve) => {
    const throat = h("input", { type: "text", id: "cut-throat", "data-hand": "throat_length", value: event.throat_length || "" });
    const carbon = h("input", { type: "text", id: "cut-carbon", "data-hand": "carbon_length", value: event.carbon_length || "" });
    const [left, safe] = [h("dd", { class: "big" }, "…"), h("dd", { class: "big" }, pageData().cut?.safe?.text || "…")];
    const verdict = h("div", { role: "status" });
    const words = h("ul");
    const sure = h("button", { type: "button", class: "go", disabled: true }, "Yes, it is cut to these lengths");
    const id = newId("e");
    const body = () => ({ ...event, throat_length: throat.value.trim(), carbon_length: carbon.value.trim() });
    const send = (certain) => ask("PUT", api(`/events/${id}`), { event: body(), sure: certain, when: now() });
    const judge = (text, wrong) => verdict.replaceChildren(h("p", { class: wrong ? "care wrong" : "small" }, text));
    let typed = false; // what is proposed comes to many decimals; what is measured is read off a rule
    const look = async () => {
      const asked = JSON.stringify(body());
      const answer = await send(false);
      if (asked !== JSON.stringify(body())) return; // typed over meanwhile
      const confirm = answer.body?.confirm;
      sure.disabled = !confirm?.allowed;
      words.parentNode.hidden = !confirm;
      if (confirm && !typed) {
        typed = true;
        throat.value = confirm.written.throat_length;
        carbon.value = confirm.written.carbon_length;
        sure.disabled = true;
        look();
        return;
      }
      if (!confirm) { left.textContent = "–"; judge(sentenceOf(answer), true); return; }
      left.textContent = confirm.left.text;
      safe.textContent = confirm.safe ? confirm.safe.text : "no mark yet";
      judge(confirm.against_safe, !confirm.allowed);
      words.replaceChildren(...confirm.words.filter((one) => one !== confirm.against_safe).map((one) => h("li", {}, one)));
    };
    // What is decided by, and the two answers, stay in sight below what scrolls.
    const box = h("dialog", { class: "cut", "aria-labelledby": "cut-title" },
      h("div", { class: "cut-body" },
        h("h2", { id: "cut-title", tabindex: -1, autofocus: true }, "A shaft cannot be made longer again"),
        h("p", {}, "Put in what you measure after the cut. Dust mask and eye protection at the saw; square the end and seat the nock fully."),
        h("label", { class: "field", for: "cut-throat" }, h("span", {}, "Nock throat to shaft end, measured"), throat),
        h("label", { class: "field", for: "cut-carbon" }, h("span", {}, "Shaft end to shaft end, measured"), carbon),
        h("div", { class: "care", hidden: true }, words)),
      h("div", { class: "cut-foot" },
        h("dl", {}, h("div", {}, h("dt", {}, "Then left"), left), h("div", {}, h("dt", {}, "Shortest safe length"), safe)),
        verdict,
        h("div", { class: "row" }, sure, h("button", { type: "button", onclick: () => { box.close(); } }, "Not now"))));
    // The part of the screen that a phone's keyboard leaves.
    const seen = window.visualViewport;
    const fit = () => { if (seen.scale < 1.01) for (const [name, size] of [["from", seen.offsetTop], ["tall", seen.height]]) box.style.setProperty(`--${name}`, `${size}px`); };
    for (const name of ["resize", "scroll"]) seen.addEventListener(name, fit);
    // What was typed over is not what is shown: no yes before it was looked at.
    let timer = 0;
    for (const field of [throat, carbon]) { field.oninput = () => { typed = true; sure.disabled = true; clearTimeout(timer); timer = setTimeout(look, 300); }; field.onchange = look; }
    let answered = null;
    sure.onclick = async () => { answered = await send(true); if (answered.ok) box.close(); else judge(sentenceOf(answered), true); };
    box.addEventListener("close", () => { for (const name of ["resize", "scroll"]) seen.removeEventListener(name, fit); box.remove(); resolve(answered?.ok ? answered : null); });
    document.body.append(box);
    box.showModal();
    look();
  });
}

function draw() {
  const data = pageData();
  const gap = document.getElementById("gap-drawing");
  if (gap) {
    gap.closest("figure").hidden = !data.gap; // an empty grid says nothing
    const items = [];
    if (data.gap?.allowed) items.push({ x: 0, y: 0, ring: data.gap.allowed, ringClass: "room", dash: "5 4" });
    if (data.gap) items.push({ x: data.gap.x, y: data.gap.y, ring: data.gap.ellipse, mark: "bare", label: data.gap.text });
    gap.replaceChildren(plot(items, { label: data.gap ? `Offset of bare from fletched: ${data.gap.text}` : "No offset yet: bare and fletched were not shot on one walk.", reach: 0.05, word: data.gap ? `at ${data.gap.distance.text}` : "from the fletched" }));
  }
  const moves = document.getElementById("moves-drawing");
  if (moves && data.answer) {
    const options = [data.chosen, ...data.others].filter(Boolean);
    const opened = options.map((_, at) => document.getElementById(`option-${at}`)?.open);
    const items = options.map((one, at) => ({ x: one.gap.x, y: one.gap.y, ring: opened[at] ? one.ellipse : null, mark: opened[at] ? "bare" : "dot", label: opened[at] ? (at === 0 ? "chosen" : one.gap.text) : null }));
    moves.replaceChildren(plot(items, { label: "Where the bare holes should lie after each move", reach: 0.04 }));
  }
}

document.addEventListener("toggle", (event) => { if (event.target.id?.startsWith("option-")) draw(); }, true);
document.addEventListener("refreshed", () => { draw(); hideAsking(); });
on("changed", async (message) => { if (!message.own) await refresh(); });
draw();
const data = pageData();
if (data.job) show(data.job);
else if (page !== "bench" && data.first?.observed && !data.fresh) work();
document.body.dataset.ready = "yes";
