// Places on a plain square grid, seen from where you shoot: for offsets and their rings.
import { ellipse, metric, s } from "./dom.js";

/** A square drawing; `items` are {x, y, ring, ringClass, mark, label, dash} in metres, `reach` [m] half its width. */
export function plot(items, { label, reach = 0, word = "at 20 yd" } = {}) {
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
  for (let n = 1; n * step * k < 150; n += 1) svg.append(s("text", { x: n * step * k, y: 14, "text-anchor": "middle", "font-size": 11 }, String(+((n * step) / unit).toFixed(1))), s("text", { x: -n * step * k, y: 14, "text-anchor": "middle", "font-size": 11 }, String(+((n * step) / unit).toFixed(1))));
  svg.append(s("text", { x: -168, y: -160 }, "left"), s("text", { x: 168, y: -160, "text-anchor": "end" }, "right"), s("text", { x: 168, y: 168, "text-anchor": "end", "font-size": 12 }, `${metric ? "cm" : "inches"} ${word}`));
  for (const one of items) {
    if (one.ring) svg.append(ellipse(one.ring, k, { class: one.ringClass || "bare", "stroke-width": one.dash ? 1.4 : 1.8, "stroke-dasharray": one.dash || null }));
    const g = s("g", { transform: `translate(${one.x * k} ${-one.y * k})` });
    if (one.mark === "bare") g.append(s("circle", { r: 6, class: "bare", "stroke-width": 2.4 }), s("circle", { r: 1.4, class: "bare-fill" }));
    else if (one.mark === "cross") g.append(s("path", { d: "M-5 -5 5 5M-5 5 5 -5", class: "ink", "stroke-width": 2 }));
    else if (one.mark === "square") g.append(s("rect", { x: -4.5, y: -4.5, width: 9, height: 9, class: "ink", "stroke-width": 1.8 }));
    else if (one.mark === "dot") g.append(s("circle", { r: 3.2, class: "filled" }));
    if (one.label) {
      const right = one.x * k + 14 + one.label.length * 6.4 < 172;
      g.append(s("text", { x: right ? 10 : -10, y: one.y > 0 ? -8 : 18, "text-anchor": right ? "start" : "end", "font-size": 12.5, style: null, "paint-order": "stroke", stroke: "var(--sheet)", "stroke-width": 3 }, one.label));
    }
    svg.append(g);
  }
  return svg;
}
