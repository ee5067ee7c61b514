// The forgiveness map: lines of equal miss over shaft length and point weight; a touched point shows that build.
import { api, around, ask, clearest, h, metric, pageData, s, unit, usual } from "./dom.js";
import { follow, start } from "./live.js";

const $ = (id) => document.getElementById(id);
let data = pageData();
let which = "heads";
let at = null;

async function fetchNew() {
  const answer = await ask("GET", api("/map"));
  if (answer.ok) { data = answer.body; draw(); }
}
const show = follow($("map-job"), fetchNew);
/** Sizes of one's own, as they were typed. */
const sizes = () => Object.fromEntries([...document.querySelectorAll("[data-size]")].map((one) => [one.dataset.size, one.value.trim()]).filter(([, text]) => text));
$("ask-map").onclick = () => start("map", { bows: 40, distance: $("map-distance").value.trim() || null, face: $("map-face").value, level: $("map-level").value, sizes: sizes() }, show, fetchNew);
/** What the map that is shown was asked with, so that asking anew begins from it. */
function asked() {
  if (!data.wishes) return;
  $("map-level").value = data.wishes.level || "";
  $("map-face").value = data.wishes.face || "";
  for (const one of document.querySelectorAll("[data-size]")) one.value = data.wishes.sizes?.[one.dataset.size] || "";
  if (Object.keys(data.wishes.sizes || {}).length) $("map-sizes").open = true;
}
asked();
if (data.job) show(data.job);

const TITLES = { own: "Your own mistakes", heads: "Fixed-blade heads and differences between arrows" };

function draw() {
  const map = data.answer;
  if (!map) { $("map").replaceChildren(h("p", { class: "quiet" }, "Not worked out yet. It takes a minute or so; the page stays usable.")); return; }
  at ??= nearest(map, map.here.length.value, map.here.point.value);
  const words = which === "own" ? map.own_mistakes.words : map.heads_and_differences.words;
  const buttons = Object.entries(TITLES).map(([key, title]) => h("button", { type: "button", "aria-pressed": String(key === which), onclick: () => { which = key; draw(); } }, title));
  $("map").replaceChildren(
    h("div", { class: "row" }, ...buttons), data.fresh ? "" : h("p", { class: "care" }, "Worked out before the last entry."),
    h("div", { class: "two" }, h("figure", {}, picture(map), h("figcaption", {}, `Lines: miss at ${map.distance.text}${missed(map)}. Hatched: unsafe or not answered. Filled squares: points you have. Touch a place, or use the arrow keys.`)),
      h("div", {}, h("p", { class: "big" }, words), details(map))), mistakes(map));
}

/** What each stated mistake of the archer costs with the present build; the right column if the arrow did not bend. */
function mistakes(map) {
  const now = map.own_mistakes.now;
  const heads = ["Mistake", "of this size", "Moves the hit by", "to", "if the arrow did not bend", ...(map.face ? ["points lost"] : [])];
  const rows = now.mistakes.map((one) => h("tr", {}, h("th", { scope: "row" }, one.mistake),
    ...[one.size, one.miss.text, one.moves.text, one.miss_rigid.text, ...(map.face ? [one.points?.toFixed(2)] : [])].map((text, k) => h("td", { "data-column": heads[k + 1] }, text || ""))));
  return h("details", { id: "mistakes", open: Boolean($("mistakes")?.open) }, h("summary", {}, `What each stated mistake costs at ${map.distance.text} as you stand`),
    h("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": "Mistakes" }, h("table", {}, h("thead", {}, h("tr", {}, ...heads.map((one) => h("th", { scope: "col" }, one)))), h("tbody", {}, ...rows))),
    h("p", { class: "small quiet" }, `${map.own_mistakes.sizes || ""} All together: ${now.all.text}.`));
}

function nearest(map, length, point) {
  const w = map.lengths.at(-1).value - map.lengths[0].value || 1, p = map.points.at(-1).mass.value - map.points[0].mass.value || 1;
  return map.builds.reduce((best, one) => {
    const away = Math.hypot((one.length - length) / w, (one.point - point) / p);
    return !best || away < best.away ? { one, away } : best;
  }, null).one;
}

/** The unit of the lines' numbers. */
function missed(map) {
  const word = map.fine.level_texts[which]?.[0]?.split(" ")[1];
  return word ? `, in ${{ in: "inches" }[word] || word}` : "";
}

function picture(map) {
  const W = 440, H = 380, l = 60, b = 52, r = 16, top = 16;
  const L = map.lengths.map((one) => one.value), P = map.points.map((one) => one.mass.value);
  const x = (m) => l + ((m - L[0]) / (L.at(-1) - L[0] || 1)) * (W - l - r), y = (m) => H - b - ((m - P[0]) / (P.at(-1) - P[0] || 1)) * (H - b - top);
  const svg = s("svg", { class: "drawing", viewBox: `0 0 ${W} ${H}`, tabindex: 0, role: "application", "aria-label": `${TITLES[which]}: lines of equal miss over shaft length and point weight. Arrow keys choose a build.` });
  const fine = map.fine;
  const z = fine[which];
  svg.append(s("defs", {}, s("pattern", { id: "hatch", width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" }, s("path", { d: "M0 0V7", stroke: "var(--line)", "stroke-width": 1.4 }))));
  const stepL = (L.at(-1) - L[0]) / Math.max(L.length - 1, 1), stepP = (P.at(-1) - P[0]) / Math.max(P.length - 1, 1);
  for (const one of map.builds) if (!one.safe) {
    const x0 = Math.max(x(one.length - stepL / 2), l), x1 = Math.min(x(one.length + stepL / 2), W - r), y0 = Math.max(y(one.point + stepP / 2), top), y1 = Math.min(y(one.point - stepP / 2), H - b);
    svg.append(s("rect", { x: x0, y: y0, width: x1 - x0, height: y1 - y0, fill: "url(#hatch)", opacity: 0.7 }));
  }
  svg.append(s("rect", { x: l, y: top, width: W - l - r, height: H - b - top, fill: "none", stroke: "var(--line)" }));
  const every = Math.ceil(L.length / 5);
  map.lengths.forEach((one, n) => { if (n % every === 0) svg.append(s("text", { x: x(one.value), y: H - b + 18, "text-anchor": "middle", "font-size": 11 }, (one.value / unit.size).toFixed(1))); });
  map.points.forEach((one) => {
    svg.append(s("text", { x: l - 14, y: y(one.mass.value) + 4, "text-anchor": "end", "font-size": 11 }, metric ? (one.mass.value * 1000).toFixed(1) : (one.mass.value / 6.479891e-5).toFixed(0)));
    if (one.owned) svg.append(s("rect", { x: l - 10, y: y(one.mass.value) - 3.5, width: 7, height: 7, class: "filled" }));
  });
  svg.append(s("text", { x: W - r, y: H - 12, "text-anchor": "end", "font-size": 12 }, `shaft length, ${unit.word}; point, ${metric ? "g" : "gr"}`));
  const here = map.here, hx = x(here.length.value), hy = y(here.point.value);
  const written = []; // where the lines' own words stand: "now" keeps clear of them
  const flat = fine.flat?.[which];
  if (flat) svg.append(s("text", { x: (l + W - r) / 2, y: (top + H - b) / 2 - (Math.abs(hy - (top + H - b) / 2) < 40 ? 60 : 0), "text-anchor": "middle", "paint-order": "stroke", stroke: "var(--sheet)", "stroke-width": 4 }, flat));
  else {
    const lines = fine.levels[which].map((level, n) => ({
      text: ((fine.level_texts[which] || [])[n] || "").split(" ")[0], // the unit stands once, under the drawing
      pieces: contour(fine.lengths, fine.points, z, level).map(([a, c]) => [x(a[0]), y(a[1]), x(c[0]), y(c[1])]),
    })).filter((one) => one.pieces.length);
    for (const one of lines) svg.append(s("path", { d: one.pieces.map(([a, c, e, f]) => `M${a.toFixed(1)} ${c.toFixed(1)}L${e.toFixed(1)} ${f.toFixed(1)}`).join(""), class: "ink", "stroke-width": 1.8, stroke: "var(--accent)" }));
    const unsafe = map.builds.filter((one) => !one.safe).map((one) => around(x(one.length), y(one.point), (x(L[0] + stepL) - l) / 2 + 2, (H - b - y(P[0] + stepP)) / 2 + 2));
    for (const { text, box } of numbered(lines, { x0: l, y0: top, x1: W - r, y1: H - b }, unsafe, [around(hx, hy, 16)])) {
      written.push(box);
      svg.append(s("text", { class: "level", x: (box.x0 + box.x1) / 2, y: box.y1 - 4, "text-anchor": "middle" }, text));
    }
  }
  const wide = 2.1 * letters();
  const beside = [-22, 12].flatMap((up) => (hx > W / 2 ? [-8 - wide, 8] : [8, -8 - wide]).map((to) => ({ x0: hx + to, y0: hy + up, x1: hx + to + wide, y1: hy + up + 12 })));
  const word = clearest(beside.filter((one) => one.x0 > l && one.x1 < W - r && one.y0 > top && one.y1 < H - b), written) ?? beside[0];
  svg.append(s("path", { d: "M-7 0H7M0 -7V7", class: "ink", "stroke-width": 2.4, transform: `translate(${hx} ${hy})` }), s("text", { x: word.x0, y: word.y1, "paint-order": "stroke", stroke: "var(--sheet)", "stroke-width": 4 }, "now"));
  svg.append(s("circle", { cx: x(at.length), cy: y(at.point), r: 10, class: "bare", "stroke-width": 3 }));
  const touch = (event) => {
    const box = svg.getBoundingClientRect();
    const px = ((event.clientX - box.left) * W) / box.width, py = ((event.clientY - box.top) * H) / box.height;
    at = nearest(map, L[0] + ((px - l) / (W - l - r)) * (L.at(-1) - L[0]), P[0] + ((H - b - py) / (H - b - top)) * (P.at(-1) - P[0]));
    draw();
    $("map").querySelector("svg").focus({ preventScroll: true });
  };
  svg.addEventListener("click", touch);
  svg.addEventListener("keydown", (event) => {
    const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (!by) return;
    event.preventDefault();
    const step = (list, value, move) => list[Math.min(Math.max(list.findIndex((one) => Math.abs(one - value) < 1e-9) + move, 0), list.length - 1)];
    at = nearest(map, step(L, at.length, by[0]), step(P, at.point, by[1]));
    draw();
    $("map").querySelector("svg").focus();
  });
  return svg;
}

/** How large the words of the drawing are, in its own units: on a phone it is drawn smaller, they are not. */
const letters = () => (matchMedia("(max-width: 640px)").matches ? 16 : 13);

/** A number for each line {text, pieces} that has room: on a piece of it within `frame`, clear of all that is `taken` and
 * of the other numbers, first where nothing is `unsafe`, then where fewest other lines pass, then in the middle. */
function numbered(lines, frame, unsafe, taken) {
  const size = letters(), all = lines.flatMap((one) => one.pieces.map(([a, c, e, f]) => ({ one, x: (a + e) / 2, y: (c + f) / 2 })));
  const meet = (one, other) => one.x0 < other.x1 && other.x0 < one.x1 && one.y0 < other.y1 && other.y0 < one.y1;
  const found = [], places = lines.map((one) => {
    const half = one.text.length * size * 0.31;
    return all.filter((spot) => spot.one === one).map((spot) => ({ text: one.text, box: around(spot.x, spot.y, half, size * 0.62) })).filter(({ box }) => box.x0 > frame.x0 + 3 && box.x1 < frame.x1 - 3 && box.y0 > frame.y0 + 3 && box.y1 < frame.y1 - 3).map((place) => ({
      ...place,
      cost: (unsafe.some((other) => meet(place.box, other)) ? 1e6 : 0) + 1e3 * new Set(all.filter((spot) => spot.one !== one && meet(place.box, around(spot.x, spot.y, 2))).map((spot) => spot.one)).size
        + Math.abs((place.box.y0 + place.box.y1) / 2 - (frame.y0 + frame.y1) / 2),
    })).sort((one, other) => one.cost - other.cost);
  }).sort((one, other) => (one[0]?.cost ?? Infinity) - (other[0]?.cost ?? Infinity));
  const far = 0.25 * (frame.x1 - frame.x0); // of a line on both sides of a valley each side may be numbered
  for (const offers of [...places, ...places]) {
    const free = offers.find(({ box, text }) => !found.some((one) => one.text === text && Math.abs(one.box.x0 - box.x0) < far) && ![...taken, ...found.map((one) => one.box)].some((other) => meet(around((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2, (box.x1 - box.x0) / 2 + 7, (box.y1 - box.y0) / 2 + 5), other)));
    if (free) found.push(free);
  }
  return found;
}

function details(map) {
  const length = map.lengths.find((one) => Math.abs(one.value - at.length) < 1e-9), point = map.points.find((one) => Math.abs(one.mass.value - at.point) < 1e-12);
  const row = (name, value) => [h("dt", {}, name), h("dd", {}, value || "not answered")];
  return h("section", { class: "sheet", "aria-live": "polite" }, h("h2", {}, `${length?.text} of shaft, ${point?.mass.text} in front${point?.owned ? "" : " (not yours yet)"}`),
    h("dl", { class: "facts" }, ...row(`Offset at ${usual}`, at.gap?.middle.text), ...row("in four of five", at.gap ? `${at.gap.low.text} to ${at.gap.high.text}` : ""), ...row("Miss by own mistakes", at.own_mistakes?.text), ...row("Heads apart", at.heads_apart?.text), ...row("Spread of a set", at.set_spread?.text), ...row("Speed", at.speed?.text)),
    at.safe ? h("p", {}, "Breaks no known limit.") : h("div", { class: "care" }, h("h3", {}, "Not safe, or not known to be"), h("ul", {}, ...at.unsafe_because.map((one) => h("li", {}, one)))),
    ...map.cautions.map((one) => h("p", { class: "care" }, one)));
}

/** Straight pieces of the line z = level on a grid, by marching squares; null cells are left out. */
export function contour(xs, ys, z, level) {
  const out = [];
  const cut = (a, c, za, zc) => { const t = (level - za) / (zc - za); return [a[0] + (c[0] - a[0]) * t, a[1] + (c[1] - a[1]) * t]; };
  for (let j = 0; j + 1 < ys.length; j += 1) for (let i = 0; i + 1 < xs.length; i += 1) {
    const corners = [[xs[i], ys[j], z[j][i]], [xs[i + 1], ys[j], z[j][i + 1]], [xs[i + 1], ys[j + 1], z[j + 1][i + 1]], [xs[i], ys[j + 1], z[j + 1][i]]];
    if (corners.some((one) => one[2] === null)) continue;
    const hits = [];
    for (let n = 0; n < 4; n += 1) {
      const a = corners[n], c = corners[(n + 1) % 4];
      if ((a[2] < level) !== (c[2] < level)) hits.push(cut(a, c, a[2], c[2]));
    }
    if (hits.length >= 2) out.push([hits[0], hits[1]]);
    if (hits.length === 4) out.push([hits[2], hits[3]]);
  }
  return out;
}

draw();
document.body.dataset.ready = "yes";
