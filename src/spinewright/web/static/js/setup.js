// Setting up: arrow and draw curve are drawn as they are typed; kept only when asked to.
import { api, ask, h, pageData, s, sentenceOf, tell, unit } from "./dom.js";
import { known } from "./live.js";

const form = document.getElementById("setup");
const $ = (id) => document.getElementById(id);
let timer = 0;
// Where there is no room beside the form, what is drawn stands where its values are typed in.
const beside = innerWidth < 1000;
if (beside) {
  document.querySelector("[data-list='bow.draw_readings']")?.append($("curve-box"));
  $("arrow-part").prepend($("arrow-box"));
}

function rows(list) {
  return [...list.querySelectorAll("tbody tr")].map((row) => Object.fromEntries([...row.querySelectorAll("[data-column]")].map((one) => [one.dataset.column, one.value.trim()]).filter(([, value]) => value))).filter((row) => Object.keys(row).length);
}

/** What stands in the form; `touched` leaves stand-ins out that nobody has typed over. */
function values(touched) {
  const found = {};
  for (const field of form.querySelectorAll("[data-key]")) {
    if (touched && field.dataset.assumed && !field.dataset.typed) continue;
    const text = field.value.trim();
    found[field.dataset.key] = field.dataset.kind === "masses" || field.dataset.kind === "texts" ? text.split(",").map((one) => one.trim()).filter(Boolean) : text;
  }
  for (const list of form.querySelectorAll("[data-list]")) found[list.dataset.list] = rows(list);
  return found;
}

function drawn() {
  const given = values(false);
  for (const [key, value] of Object.entries(given)) if (value === "" || value.length === 0) delete given[key];
  return given;
}

async function redraw(paste) {
  const answer = await ask("POST", "/api/drawing", paste ? { values: drawn(), paste } : { values: drawn() });
  if (!answer.ok) return null;
  show(answer.body);
  return answer.body;
}

function show(drawing) {
  const missing = (beside && drawing.errors[0]?.sentence) || "The arrow is drawn here once its length, shaft and point can be read.";
  $("arrow").replaceChildren(drawing.arrow ? arrow(drawing.arrow) : h("p", { class: "quiet" }, missing));
  if (drawing.arrow) {
    const t = drawing.arrow.texts;
    $("arrow-words").textContent = `To scale, heights three times larger. Balance ${t.balance} from the nock throat, FOC ${t.foc}, nodes at ${t.nodes}, ${t.weight} in all, ${t.length} long.`;
  }
  $("curve").replaceChildren(drawing.curve ? curve(drawing.curve) : h("p", { class: "quiet" }, "The draw curve stands here once peak weight, let-off, draw length and brace height can be read."));
  if (drawing.curve) {
    const t = drawing.curve.texts;
    $("curve-words").textContent = `Peak ${t.peak}, let-off ${t.let_off}, stored energy ${t.energy}: ${drawing.curve.measured ? t.stated : "a usual shape, not measured; readings of a scale make it yours"}.`;
  }
  $("limits").replaceChildren(...drawing.limits.map((one) => h("li", {}, h("strong", {}, { kept: "Kept. ", broken: "Broken! ", unknown: "Not known. " }[one.state]), one.text)));
  $("cautions").replaceChildren(...drawing.cautions.map((one) => h("p", { class: "care" }, one)));
  $("errors-box").hidden = !drawing.errors.length;
  $("errors").replaceChildren(...drawing.errors.map((one) => h("li", {}, one.sentence)));
  for (const field of form.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
  for (const one of drawing.errors) if (one.field) form.querySelector(`[data-key="${CSS.escape(one.field)}"]`)?.setAttribute("aria-invalid", "true");
}

export function arrow(a) {
  const narrow = innerWidth < 700, W = narrow ? 370 : 900, H = beside ? 112 : 190;
  const end = a.point ? a.point.to : a.length;
  const k = (W - 30) / end, x = (m) => 15 + m * k, y = beside ? 44 : H / 2 + 4;
  const r = Math.max((a.diameter / 2) * k * 3, 3);
  const svg = s("svg", { class: "drawing", viewBox: `0 0 ${W} ${H}`, role: "img", "aria-label": `The arrow to scale, nock at the left: balance ${a.texts.balance}, FOC ${a.texts.foc}, nodes ${a.texts.nodes}.` });
  let ticks = "";
  for (let n = 0; n * unit.size <= end; n += 1) ticks += `M${x(n * unit.size)} ${H - 26}v${n % 5 ? 5 : 10}`;
  svg.append(s("path", { d: ticks, stroke: "var(--line)", fill: "none" }), s("path", { d: `M15 ${H - 26}H${x(end)}`, stroke: "var(--line)" }));
  for (let n = 0; n * unit.size <= end; n += narrow ? 10 : 5) svg.append(s("text", { x: x(n * unit.size), y: H - 5, "text-anchor": n ? "middle" : "start", "font-size": 11 }, n ? String(n) : `0 ${unit.word}`));
  if (a.vanes) {
    const top = a.vanes.height * k * 3;
    for (const way of [-1, 1]) svg.append(s("path", { d: `M${x(a.vanes.from)} ${y + way * r}L${x(a.vanes.from) + 3} ${y + way * (r + top)}L${x(a.vanes.from + (a.vanes.to - a.vanes.from) * 0.35)} ${y + way * (r + top)}L${x(a.vanes.to)} ${y + way * r}Z`, fill: "var(--fletched)", "fill-opacity": 0.25, stroke: "var(--fletched)" }));
  }
  svg.append(s("rect", { x: x(a.carbon[0]), y: y - r, width: x(a.carbon[1]) - x(a.carbon[0]), height: 2 * r, fill: "var(--raised)", stroke: "var(--ink)" }));
  if (a.insert) svg.append(s("rect", { x: x(a.insert[0]), y: y - r, width: x(a.insert[1]) - x(a.insert[0]), height: 2 * r, fill: "var(--line)", "fill-opacity": 0.6 }));
  if (a.nock) svg.append(s("path", { d: `M${x(a.nock[1])} ${y - r}H${x(a.nock[0]) - 3}V${y - 2}H${x(a.nock[0]) + 2}V${y + 2}H${x(a.nock[0]) - 3}V${y + r}H${x(a.nock[1])}Z`, fill: "var(--sheet)", stroke: "var(--ink)" }));
  if (a.point) svg.append(s("path", { d: `M${x(a.point.from)} ${y - r}H${(x(a.point.from) + x(a.point.to)) / 2}L${x(a.point.to)} ${y}L${(x(a.point.from) + x(a.point.to)) / 2} ${y + r}H${x(a.point.from)}Z`, fill: "var(--ink)" }));
  const bx = x(a.balance);
  svg.append(s("path", { d: `M${bx} ${y + r + 1}l-7 13h14z`, class: "filled" }));
  if (beside) { // thin: the same in two lines less
    svg.append(s("text", { x: Math.min(bx, W - 110), y: y + r + 28, "text-anchor": "middle" }, `balance ${a.texts.balance}, FOC ${a.texts.foc}`));
    a.nodes.forEach((node) => svg.append(s("path", { d: `M${x(node)} ${y - r - 3}V${y - r - 22}`, class: "room" }), s("text", { x: x(node) + 5, y: y - r - 16 }, "node")));
    return svg;
  }
  svg.append(s("text", { x: bx, y: y + r + 30, "text-anchor": "middle" }, `balance ${a.texts.balance}`));
  svg.append(s("path", { d: `M${x(a.length / 2)} ${y - r - 5}v-12`, stroke: "var(--line)" }), s("path", { d: `M${x(a.length / 2)} ${y - r - 12}H${bx}M${bx - 6} ${y - r - 16}l6 4-6 4M${bx} ${y - r - 5}v-12`, class: "ink" }), s("text", { x: bx + 6, y: y - r - 14 }, `FOC ${a.texts.foc}`));
  a.nodes.forEach((node, at) => svg.append(s("path", { d: `M${x(node)} ${y - r - 3}V${y - r - 38}`, class: "room" }), s("text", { x: x(node), y: y - r - 43, "text-anchor": at ? "end" : "middle" }, "node")));
  return svg;
}

export function curve(c) {
  const W = 420, H = 260, left = 44, low = 36;
  const most = c.peak * 1.1, far = c.draw.at(-1), near = c.draw[0];
  const x = (m) => left + ((m - near) / (far - near)) * (W - left - 14), y = (n) => H - low - (n / most) * (H - low - 14);
  const newton = document.body.dataset.units === "metric" ? { size: 1, word: "N", step: 50 } : { size: 4.4482216, word: "lb", step: 10 };
  const svg = s("svg", { class: "drawing", viewBox: `0 0 ${W} ${H}`, role: "img", "aria-label": `Draw curve: peak ${c.texts.peak}, let-off ${c.texts.let_off}, energy ${c.texts.energy}.` });
  for (let n = 0; n * newton.step * newton.size < most; n += 1) { const at = y(n * newton.step * newton.size); svg.append(s("path", { d: `M${left} ${at}H${W - 14}`, stroke: "var(--grid)" }), s("text", { x: left - 6, y: at + 4, "text-anchor": "end", "font-size": 11 }, String(n * newton.step))); }
  for (let n = Math.ceil(near / unit.size / 5) * 5; n * unit.size <= far; n += 5) svg.append(s("text", { x: x(n * unit.size), y: H - 20, "text-anchor": "middle", "font-size": 11 }, String(n)));
  svg.append(s("text", { x: W - 14, y: H - 5, "text-anchor": "end", "font-size": 12 }, `draw, ${unit.word}; force, ${newton.word}`));
  const line = c.draw.map((m, at) => `${at ? "L" : "M"}${x(m).toFixed(1)} ${y(c.force[at]).toFixed(1)}`).join("");
  svg.append(s("path", { d: `${line}L${x(far)} ${y(0)}L${x(near)} ${y(0)}Z`, class: "area" }), s("path", { d: line, class: "ink", "stroke-width": 2.2, "stroke-dasharray": c.measured ? null : "6 4" }));
  for (const [m, n] of c.readings) svg.append(s("circle", { cx: x(Math.max(m, near)), cy: y(n), r: 4, class: "bare", "stroke-width": 2 }));
  return svg;
}

form.addEventListener("input", (event) => {
  event.target.dataset.typed = "yes";
  if (event.target.id === "paste") return;
  clearTimeout(timer);
  timer = setTimeout(() => redraw(), 180);
});
form.addEventListener("click", (event) => {
  const list = event.target.closest("[data-list]");
  if (event.target.closest("[data-add]")) list.querySelector("tbody").append(list.querySelector("template").content.cloneNode(true));
  if (event.target.closest("[data-out]")) { event.target.closest("tr").remove(); redraw(); }
});
const paste = $("paste");
if (paste) paste.addEventListener("input", () => {
  clearTimeout(timer);
  timer = setTimeout(async () => {
    const drawing = await redraw(paste.value);
    if (!drawing) return;
    $("paste-words").textContent = drawing.paste_words;
    if (!drawing.rows.length) return;
    const list = paste.closest("[data-list]");
    const template = list.querySelector("template").content;
    list.querySelector("tbody").replaceChildren(...drawing.rows.map((row) => {
      const made = template.cloneNode(true);
      for (const [key, value] of Object.entries(row)) { const cell = made.querySelector(`[data-column="${key}"]`); if (cell) cell.value = value; }
      return made;
    }));
    redraw();
  }, 250);
});
form.onsubmit = async (event) => {
  event.preventDefault();
  const answer = await ask("PUT", api("/setup"), { values: values(true), confirm: true });
  tell(answer.ok ? "Kept. What is worked out from here on uses these values." : sentenceOf(answer), !answer.ok);
  scrollTo({ top: 0 });
  if (answer.ok) {
    known(answer.body.bench.revision);
    for (const field of form.querySelectorAll("[data-typed]")) { delete field.dataset.assumed; field.classList.remove("stand-in"); }
  } else {
    const field = answer.body?.error?.field;
    const place = field && form.querySelector(`[data-key="${CSS.escape(field)}"]`);
    if (place) { place.setAttribute("aria-invalid", "true"); place.closest("details").open = true; place.focus(); }
  }
};
show(pageData().drawing);
document.body.dataset.ready = "yes";
