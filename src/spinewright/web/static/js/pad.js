// A square to drag one point on, seen from where you stand: the paper with the point's hole in the middle.
import { marks, metric, s } from "./dom.js";

export class Pad {
  /** `reach` [m] is half the width; `heard(x, y)` hears of every move, `ended()` when the finger lifts. */
  constructor(place, heard, { reach = 0.051, label = "Tear", state = () => "bare", paper = true } = {}) {
    Object.assign(this, { heard, reach, state, paper, x: 0, y: 0, origin: { x: 0, y: 0 }, held: null, others: [] });
    this.svg = s("svg", { class: "target", viewBox: "-175 -175 350 350", tabindex: 0, role: "application", "aria-label": label });
    place.append(this.svg);
    this.svg.addEventListener("pointerdown", (event) => this.down(event));
    this.svg.addEventListener("pointermove", (event) => this.move(event));
    for (const name of ["pointerup", "pointercancel"]) this.svg.addEventListener(name, () => { this.held = null; });
    this.svg.addEventListener("keydown", (event) => this.key(event));
    this.draw();
  }

  get k() { return 160 / this.reach; }

  at(event) {
    const box = this.svg.getBoundingClientRect();
    const size = Math.min(box.width, box.height);
    return { x: ((event.clientX - box.left - box.width / 2) * 350) / size, y: (-(event.clientY - box.top - box.height / 2) * 350) / size };
  }

  down(event) {
    this.svg.setPointerCapture(event.pointerId);
    const at = this.at(event), k = this.k;
    const toPoint = Math.hypot(at.x - this.origin.x * k, at.y - this.origin.y * k);
    const toTail = Math.hypot(at.x - (this.origin.x + this.x) * k, at.y - (this.origin.y + this.y) * k);
    const point = this.paper && toPoint < 26 && toPoint < toTail;
    this.held = { point, dx: point ? at.x - this.origin.x * k : toTail < 34 ? at.x - (this.origin.x + this.x) * k : 0, dy: point ? at.y - this.origin.y * k : toTail < 34 ? at.y - (this.origin.y + this.y) * k : 0 };
    this.move(event);
  }

  move(event) {
    if (!this.held) return;
    const at = this.at(event), k = this.k;
    const limit = (value) => Math.min(Math.max(value, -165 / k), 165 / k);
    const to = { x: limit((at.x - this.held.dx) / k), y: limit((at.y - this.held.dy) / k) };
    if (this.held.point) {
      const tail = { x: this.origin.x + this.x, y: this.origin.y + this.y };
      this.origin = to;
      this.set(tail.x - to.x, tail.y - to.y);
    } else this.set(to.x - this.origin.x, to.y - this.origin.y);
  }

  key(event) {
    const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    if (!moves[event.key]) return;
    event.preventDefault();
    const step = (metric ? 0.002 : 0.00254) * (event.shiftKey ? 0.25 : 1);
    this.set(this.x + moves[event.key][0] * step, this.y + moves[event.key][1] * step);
  }

  set(x, y) { this.x = x; this.y = y; this.draw(); this.heard(x, y); }
  clear() { this.origin = { x: 0, y: 0 }; this.set(0, 0); }

  draw() {
    const k = this.k, unit = metric ? 0.01 : 0.0254, step = metric ? 0.005 : unit / 4;
    let fine = "", strong = "";
    for (let n = -60; n <= 60; n += 1) {
      const at = n * step * k;
      if (Math.abs(at) > 175) continue;
      const line = `M${at} -175V175M-175 ${at}H175`;
      if (n % (metric ? 2 : 4) === 0) strong += line; else fine += line;
    }
    const px = this.origin.x * k, py = -this.origin.y * k, tx = px + this.x * k, ty = py - this.y * k;
    const g = s("g");
    g.append(s("path", { d: fine, class: "fine", fill: "none" }), s("path", { d: strong, class: "strong", fill: "none" }));
    g.append(s("text", { x: -166, y: -156 }, "left"), s("text", { x: 166, y: -156, "text-anchor": "end" }, "right"), s("text", { x: 166, y: 166, "text-anchor": "end", "font-size": 12 }, metric ? "squares of 1 cm" : "squares of 1 inch"));
    for (const other of this.others) g.append(s("circle", { cx: other.x * k, cy: -other.y * k, r: 3.5, class: "filled", opacity: 0.55 }));
    if (this.paper) g.append(...rip(px, py, tx, ty, this.state()));
    else g.append(s("path", { d: "M-8 0H8M0 -8V8", class: "cursor" }));
    g.append(s("circle", { cx: px, cy: py, r: 7, class: "knob" }));
    g.append(s("g", { transform: `translate(${tx} ${ty})`, "data-tail": "" }, s("circle", { r: 15, class: "knob", "fill-opacity": 0.5 }), ...marks(this.state(), 10, 2.4)));
    const apart = Math.hypot(tx - px, ty - py) > 34, left = tx < px;
    if (apart && this.paper) {
      const say = (x, y, end, text) => s("text", { x, y, "text-anchor": end ? "end" : "start", class: "number-of" }, text);
      g.append(say(tx + (left ? -20 : 20), ty + 5, left, "tail"), say(px + (left ? 14 : -14), py + 5, !left, "point"));
    } else if (!apart) g.append(s("text", { x: tx, y: ty + 36, "text-anchor": "middle", class: "number-of" }, this.paper ? "drag the tail" : "drag the hole"));
    this.svg.replaceChildren(g);
  }
}

/** The slit from the point's hole to the tail, with a cut for each vane. */
function rip(px, py, tx, ty, state) {
  const out = [s("line", { x1: px, y1: py, x2: tx, y2: ty, stroke: "var(--ink)", "stroke-width": 9, "stroke-linecap": "round", opacity: 0.32 })];
  if (state !== "bare") for (const a of [90, 210, 330]) out.push(s("line", { x1: tx, y1: ty, x2: tx + 26 * Math.cos((a * Math.PI) / 180), y2: ty - 26 * Math.sin((a * Math.PI) / 180), stroke: "var(--ink)", "stroke-width": 4, opacity: 0.32, "stroke-linecap": "round" }));
  return out;
}
