// Seeing it: the arrow's bending through the power stroke, and both arrows on their way to the target.
import { api, ask, floats, h, pageData, s, unit } from "./dom.js";
import { follow, on, start } from "./live.js";

const $ = (id) => document.getElementById(id);
let data = pageData();
const still = matchMedia("(prefers-reduced-motion: reduce)").matches;

async function fetchNew() {
  const answer = await ask("GET", api("/seeing"));
  if (answer.ok) { data = answer.body; showAll(); }
}
const shows = {};
for (const what of ["stroke", "paths"]) {
  shows[what] = follow($(`${what}-job`), fetchNew);
  $(`ask-${what}`).onclick = () => start(what, {}, shows[what], fetchNew);
  if (data[what].job) shows[what](data[what].job);
}

// --- the power stroke ---------------------------------------------------------------------------------------------
let playing = null;

function showStroke() {
  playing?.stop();
  const answer = data.stroke.answer;
  if (!answer) { $("stroke").replaceChildren(h("p", { class: "quiet" }, "Not worked out yet. It takes some seconds; the page stays usable.")); return; }
  playing = new Stroke($("stroke"), answer);
}

class Stroke {
  constructor(place, answer) {
    this.answer = answer;
    this.cases = answer.cases.map((one) => ({ ...one, f: floats(one.shape), T: one.shape.shape[1], S: one.shape.shape[2] }));
    this.slow = 250;
    this.at = 0;
    this.chosen = 0;
    const choose = h("select", { id: "which", onchange: () => { this.chosen = Number(choose.value); this.frame(); this.said(); } }, ...this.cases.map((one, at) => h("option", { value: at }, one.title)));
    this.range = h("input", { type: "range", min: 0, max: 1000, value: 0, "aria-label": "Time through the power stroke", oninput: () => { this.pause(); this.at = Number(this.range.value) / 1000; this.frame(); } });
    this.button = h("button", { type: "button", onclick: () => (this.running ? this.pause() : this.play()) }, "Play");
    this.svg = s("svg", { class: "drawing", viewBox: "0 0 900 380", role: "img", "aria-label": "The arrow from above and from the side through the power stroke" });
    if (innerWidth < 700) this.svg.setAttribute("viewBox", "0 0 420 380");
    this.words = h("figcaption", {});
    place.replaceChildren(h("div", { class: "row" }, h("label", { for: "which" }, "Show"), choose, this.button), h("figure", {}, this.svg, this.words), this.range, h("p", { class: "small quiet" }, `${answer.exaggeration_words} ${answer.source}`));
    const most = Math.max(...this.cases.flatMap((one) => [...one.f].map(Math.abs)), 1e-5);
    this.times = Math.max(1, Math.floor(60 / (most * this.k)));
    this.frame();
    this.said();
    if (!still) this.play();
  }

  get wide() { return innerWidth < 700 ? 420 : 900; }
  get one() { return this.cases[this.chosen]; }
  get k() { const far = Math.max(...this.cases.map((one) => one.length + one.nock_forward.at(-1))); return (this.wide - 40) / far; }
  said() {
    const one = this.one;
    this.words.textContent = `${one.words} Bending drawn ${this.times} times larger; slowed ${this.slow} times. Rings are the nodes, the dot is the nock, the dashed upright the rest${one.rest.lets_go ? ", until it has dropped" : ""}.`;
  }

  play() {
    this.running = true;
    this.button.textContent = "Pause";
    let before = performance.now();
    const step = (time) => {
      if (!this.running) return;
      const long = this.one.time.at(-1) * this.slow * 1000;
      this.at = (this.at + Math.max(time - before, 0) / long) % 1.12;
      before = time;
      this.frame();
      requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  }

  pause() { this.running = false; this.button.textContent = "Play"; }
  stop() { this.running = false; }

  frame() {
    const { one, k } = this, share = Math.min(this.at, 1);
    const t = share * (one.T - 1), low = Math.floor(t), high = Math.min(low + 1, one.T - 1), mix = t - low;
    const nock = one.nock_forward[low] * (1 - mix) + one.nock_forward[high] * mix;
    const time = one.time[low] * (1 - mix) + one.time[high] * mix;
    const g = [];
    for (const [plane, y0, title, plus, minus] of [[0, 105, "from above", "left", "right"], [1, 285, "from the side", "up", "down"]]) {
      let d = "";
      const places = [];
      for (let i = 0; i < one.S; i += 1) {
        const value = one.f[(plane * one.T + low) * one.S + i] * (1 - mix) + one.f[(plane * one.T + high) * one.S + i] * mix;
        const x = 20 + (nock + one.along[i]) * k, y = y0 + (plane === 0 ? 1 : -1) * value * k * this.times;
        d += `${i ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`;
        places.push([x, y]);
      }
      const rest = 20 + one.rest.at * k, gone = one.rest.lets_go !== null && time > one.rest.lets_go;
      g.push(s("path", { d: `M20 ${y0}H${this.wide - 20}`, stroke: "var(--grid-strong)", "stroke-dasharray": "2 5" }), s("text", { x: 20, y: y0 - 74 }, title), s("text", { x: this.wide - 16, y: y0 - 62, "text-anchor": "end", "font-size": 12 }, plus), s("text", { x: this.wide - 16, y: y0 + 72, "text-anchor": "end", "font-size": 12 }, minus));
      g.push(s("path", { d: `M${rest} ${y0 - 46}V${y0 + 46}`, stroke: "var(--line)", "stroke-dasharray": "6 4", opacity: gone ? 0.25 : 1, "stroke-width": 2 }));
      if (time < one.departs) g.push(s("path", { d: `M${20 + nock * k} ${y0 - 40}V${y0 + 40}`, stroke: "var(--ink)", opacity: 0.45 }));
      g.push(s("path", { d, fill: "none", class: one.bare ? "bare" : "fletched", "stroke-width": 4, "stroke-linecap": "round", "stroke-linejoin": "round" }));
      const [tip, before] = [places.at(-1), places.at(-2)], turn = (Math.atan2(tip[1] - before[1], tip[0] - before[0]) * 180) / Math.PI;
      g.push(s("path", { d: "M0 -5L16 0L0 5Z", class: one.bare ? "bare-fill" : "fletched-fill", transform: `translate(${tip[0]} ${tip[1]}) rotate(${turn})` }), s("circle", { cx: places[0][0], cy: places[0][1], r: 5, class: "filled" }));
      for (const node of one.nodes) {
        const i = one.along.findIndex((far) => far >= node);
        if (i > 0) { const part = (node - one.along[i - 1]) / (one.along[i] - one.along[i - 1]), [a, b] = [places[i - 1], places[i]]; g.push(s("circle", { cx: a[0] + (b[0] - a[0]) * part, cy: a[1] + (b[1] - a[1]) * part, r: 4.5, fill: "var(--sheet)", stroke: "var(--ink)", "stroke-width": 1.5 })); }
      }
    }
    g.push(s("text", { x: this.wide / 2, y: 372, "text-anchor": "middle" }, `${(time * 1000).toFixed(1)} ms${time > one.departs ? ", off the string" : ""}`));
    this.svg.replaceChildren(...g);
    this.range.value = share * 1000;
  }
}

// --- on their way to the target -----------------------------------------------------------------------------------
function showPaths() {
  const answer = data.paths.answer;
  if (!answer) { $("paths").replaceChildren(h("p", { class: "quiet" }, "Not worked out yet.")); return; }
  const W = innerWidth < 700 ? 400 : 900, H = 190;
  const far = Math.max(...answer.cases.flatMap((one) => [...one.low_x, ...one.high_x, ...one.low_y, ...one.high_y].map(Math.abs)), 0.01);
  const x = (m) => 46 + (m / answer.distance) * (W - 66), k = 76 / far;
  const drawing = (axis, title, plus, minus) => {
    const svg = s("svg", { class: "drawing", viewBox: `0 0 ${W} ${H}`, role: "img", "aria-label": `Paths of bare and fletched ${title}` });
    const sign = axis === "x" ? 1 : -1, y = (m) => H / 2 + sign * m * k;
    svg.append(s("path", { d: `M46 ${H / 2}H${W - 20}`, stroke: "var(--grid-strong)" }), s("text", { x: 46, y: 15 }, title), s("text", { x: 40, y: 34, "text-anchor": "end", "font-size": 12 }, plus), s("text", { x: 40, y: H - 22, "text-anchor": "end", "font-size": 12 }, minus));
    const size = unit.size * (far > unit.size * 3 ? Math.ceil(far / unit.size / 3) : 1);
    svg.append(s("path", { d: `M${W - 14} ${H / 2}v${-size * k}M${W - 18} ${H / 2}h8M${W - 18} ${H / 2 - size * k}h8`, class: "ink" }), s("text", { x: W - 22, y: H / 2 - (size * k) / 2 + 4, "text-anchor": "end", "font-size": 12 }, `${Math.round(size / unit.size)} ${unit.word}`));
    for (const one of answer.cases) {
      const line = (values) => values.map((m, at) => `${at ? "L" : "M"}${x(answer.along[at]).toFixed(1)} ${y(m).toFixed(1)}`).join("");
      const back = one[`low_${axis}`].map((m, at) => [x(answer.along[at]), y(m)]).reverse().map(([a, b]) => `L${a.toFixed(1)} ${b.toFixed(1)}`).join("");
      svg.append(s("path", { d: `${line(one[`high_${axis}`])}${back}Z`, class: `${one.which}-fill`, "fill-opacity": 0.13 }));
      svg.append(s("path", { d: line(one[axis]), class: one.which, "stroke-width": 2.6, fill: "none", "stroke-dasharray": one.which === "bare" ? "9 4" : null }));
      if (axis === "x") for (let at = 0; at < answer.along.length; at += 8) { const a = one.turn[at] * 4; svg.append(s("line", { x1: x(answer.along[at]), y1: y(one[axis][at]), x2: x(answer.along[at]) - 16 * Math.cos(a), y2: y(one[axis][at]) + 16 * Math.sin(a), class: one.which, "stroke-width": 4 })); }
    }
    return svg;
  };
  $("paths").replaceChildren(
    h("figure", {}, drawing("x", "from above", "left", "right"), h("figcaption", {}, "Full line: fletched; dashed: bare. Short strokes show how the arrow points, four times larger.")),
    h("figure", {}, drawing("y", "from the side", "up", "down"), h("figcaption", {}, answer.words)),
    h("p", { class: "small quiet" }, answer.source));
}

function showAll() {
  showStroke();
  showPaths();
  for (const what of ["stroke", "paths"]) {
    const stale = data[what].answer && !data[what].fresh;
    $(`ask-${what}`).textContent = data[what].answer ? (stale ? "Work it out anew: something was logged since" : "Work it out anew") : { stroke: "Work out the arrow's motion", paths: "Fly both arrows" }[what];
    $(`ask-${what}`).classList.toggle("go", !data[what].answer || stale);
  }
}
on("changed", () => {});
showAll();
document.body.dataset.ready = "yes";
