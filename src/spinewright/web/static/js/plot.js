// Places on a plain square grid, seen from where you shoot: for offsets and their rings.
import { around, clearest, ellipse, metric, s, usual } from "./dom.js";

/** A square drawing; `items` are {x, y, ring, ringClass, mark, label, dash} in metres, `reach` [m] half its width. */
export function plot(items, { label, reach = 0, word = `at ${usual}` } = {}) {
  const unit = metric ? 0.01 : 0.0254;
  const far = items.reduce((most, one) => Math.max(most, Math.abs(one.x) + (one.ring?.major || 0), Math.abs(one.y) + (one.ring?.major || 0)), Math.max(reach, unit));
  const half = 175 - 12;
  const k = half / (far * 1.08);
  const svg = s("svg", { class: "drawing", viewBox: "-175 -175 350 350", role: "img", "aria-label": label });
  let step = unit;
  for (const times of metric ? [1, 2, 5, 10, 20, 50] : [0.5, 1, 2, 5, 10, 20]) { step = unit * times; if (step * k >= 30) break; }
  let lines = "";
  for (let n = -20; n <= 20; n += 1) {
    const at = n * step * k;
    if (Math.abs(at) < 175) lines += `M${at} -175V175M-175 ${at}H175`;
  }
  svg.append(s("path", { d: lines, stroke: "var(--grid)", fill: "none" }), s("path", { d: "M0 -175V175M-175 0H175", stroke: "var(--line)", fill: "none", "stroke-width": 1.4 }));
  const taken = items.filter((one) => one.mark).map((one) => around(one.x * k, -one.y * k, one.mark === "dot" ? 4 : 8));
  const rings = items.flatMap((one) => (one.ring ? outline(one.ring, k) : []));
  const labels = items.map((one) => one.label && clear(one, k, taken, rings));
  for (let n = 1; n * step * k < 150; n += 1) for (const x of [n * step * k, -n * step * k]) {
    if (clearest([around(x, 10, 9, 6)], taken).covered) continue; // what was seen goes before the scale
    svg.append(s("text", { x, y: 14, "text-anchor": "middle", "font-size": 11 }, String(+((n * step) / unit).toFixed(1))));
  }
  svg.append(s("text", { x: -168, y: -160 }, "left"), s("text", { x: 168, y: -160, "text-anchor": "end" }, "right"), s("text", { x: 168, y: 168, "text-anchor": "end", "font-size": 12 }, `${metric ? "cm" : "inches"} ${word}`));
  items.forEach((one, n) => {
    if (one.ring) svg.append(ellipse(one.ring, k, { class: one.ringClass || "bare", "stroke-width": one.dash ? 1.4 : 1.8, "stroke-dasharray": one.dash || null }));
    const g = s("g", { transform: `translate(${one.x * k} ${-one.y * k})` });
    if (one.mark === "bare") g.append(s("circle", { r: 6, class: "bare", "stroke-width": 2.4 }), s("circle", { r: 1.4, class: "bare-fill" }));
    else if (one.mark === "cross") g.append(s("path", { d: "M-5 -5 5 5M-5 5 5 -5", class: "ink", "stroke-width": 2 }));
    else if (one.mark === "square") g.append(s("rect", { x: -4.5, y: -4.5, width: 9, height: 9, class: "ink", "stroke-width": 1.8 }));
    else if (one.mark === "dot") g.append(s("circle", { r: 3.2, class: "filled" }));
    svg.append(g);
    if (one.label) svg.append(s("text", { ...labels[n], "font-size": 12.5, "paint-order": "stroke", stroke: "var(--sheet)", "stroke-width": 3 }, one.label));
  });
  return svg;
}

/** Small boxes along a ring, so that words are not laid across its line. */
function outline(e, k) {
  return Array.from({ length: 48 }, (_, n) => {
    const a = e.major * Math.cos((n * Math.PI) / 24), b = e.minor * Math.sin((n * Math.PI) / 24);
    return around((e.x + a * Math.cos(e.angle) - b * Math.sin(e.angle)) * k, -(e.y + a * Math.sin(e.angle) + b * Math.cos(e.angle)) * k, 2);
  });
}

/** Where the label of an item keeps clear of what is there, of `lines` and of the edge; it is taken then as well. */
function clear({ x, y, label, ring }, k, taken, lines) {
  const wide = label.length * 6.6, mx = x * k, my = -y * k;
  const below = my > 0; // away from the line across first
  const high = ring ? Math.hypot(ring.major * Math.sin(ring.angle), ring.minor * Math.cos(ring.angle)) * k : 0;
  const near = (below ? [10, -19] : [-19, 10]).flatMap((up) => [[mx + 9, up], [mx - 9 - wide, up], [mx - wide / 2, up]]);
  const beyond = [mx - wide / 2, below ? high + 5 : -high - 17]; // its own ring, on the same side
  const offers = [...near, beyond].map(([x0, up]) => ({ x0, y0: my + up, x1: x0 + wide, y1: my + up + 12 }));
  const inside = offers.filter((one) => one.x0 > -172 && one.x1 < 172 && one.y0 > -156 && one.y1 < 156);
  const best = clearest(inside.length ? inside : offers, [...taken, ...lines]);
  taken.push(best);
  return { x: best.x0, y: best.y1 - 2 };
}
