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
  const labels = items.map((one) => one.label && clear(one.x * k, -one.y * k, one.label, taken));
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

/** Where a label beside a place keeps clear of what is there and of the edge; it is taken then as well. */
function clear(x, y, label, taken) {
  const wide = label.length * 6.6, out = y > 0 ? [10, -19] : [-19, 10]; // away from the line across first
  const offers = out.flatMap((up) => [[x + 9, up], [x - 9 - wide, up], [x - wide / 2, up]]).map(([x0, up]) => ({ x0, y0: y + up, x1: x0 + wide, y1: y + up + 12 }));
  const inside = offers.filter((one) => one.x0 > -172 && one.x1 < 172 && one.y0 > -155 && one.y1 < 155);
  const best = clearest(inside.length ? inside : offers, taken);
  taken.push(best);
  return { x: best.x0, y: best.y1 - 2 };
}
