// The target: one drawing that this module alone owns. Places are metres from the aiming spot, x right, y up.
// One finger: a magnifier, and the hole where the finger lifts. Two fingers: pinch and move. Mouse: click puts a hole,
// dragging the ground moves it, the wheel zooms. Keys: arrows move the cross, Enter puts a hole, N and P choose one,
// L leans its nock, Delete takes it back, plus and minus zoom.
import { around, clearest, h, marks, metric, s } from "./dom.js";

const NEAR = 22; // px: a finger this close to a hole takes hold of it
const STILL = 7; // px that a mouse may wander in a click
const STRAIGHT = 20; // px of the knob from its hole that mean 'straight'
const PER_DEGREE = 7; // px of the knob for each degree of lean
const MOST = 12; // degrees
const DEGREE = Math.PI / 180;
const LOUPE = 124;

export class Target {
  /** In `place`; `heard` has free() (is the next hole expected), put(x, y), moved(id, x, y), leaned(id, lean_x, lean_y), chose(id), remove(id). */
  constructor(place, heard, { half = 0.254, label = "Target", radius = 0.003 } = {}) {
    this.heard = heard;
    this.radius = radius;
    this.holes = [];
    this.chosen = null;
    this.rings = [];
    this.gap = null;
    this.pointers = new Map();
    this.view = { x: 0, y: 0, half };
    this.home = half;
    this.cross = null;
    this.held = null;
    this.leaning = false;
    this.box = h("div", { class: "target-box" });
    this.svg = s("svg", { class: "target", tabindex: 0, role: "application", "aria-label": label, "aria-describedby": "target-keys" });
    this.loupe = h("div", { class: "loupe", hidden: true, "aria-hidden": "true" });
    this.keys = h("p", { id: "target-keys", class: "unseen" }, "Arrow keys move the cross, Enter puts a hole, N and P choose a hole, L then arrows lean its nock, Delete takes it back, plus and minus zoom.");
    this.spoken = h("p", { class: "unseen", role: "status" });
    this.box.append(this.svg, this.loupe, this.keys, this.spoken);
    place.append(this.box);
    this.listen();
    // Its size is told once the page is laid out, and whenever it changes; asking for it would lay the page out each time.
    this.room = null;
    this.drawn = new Promise((done) => {
      new ResizeObserver(([seen]) => {
        const { width, height } = seen.contentRect;
        if (!width || !height) return;
        this.room = { w: width, h: height };
        this.draw();
        done();
      }).observe(this.svg);
    });
  }

  /** Show these holes: {id, shaft, state, x, y, lean_x, lean_y, bad, waits}. */
  set(holes, chosen = this.chosen) {
    this.holes = holes;
    this.chosen = holes.some((hole) => hole.id === chosen) ? chosen : null;
    this.draw();
  }

  /** Rings of a face, [] for the plain grid; the gap's drawing or null. */
  dress({ rings = this.rings, gap = this.gap } = {}) {
    this.rings = rings;
    this.gap = gap;
    this.draw();
  }

  fit() {
    const far = this.holes.reduce((most, hole) => Math.max(most, Math.abs(hole.x), Math.abs(hole.y)), 0);
    this.home = Math.max(this.home, far * 1.15);
    this.view = { x: 0, y: 0, half: this.home };
    this.draw();
  }

  zoom(times, at = null) {
    const half = Math.min(Math.max(this.view.half / times, 0.015), 1.5);
    if (at) {
      const share = half / this.view.half;
      this.view.x = at.x + (this.view.x - at.x) * share;
      this.view.y = at.y + (this.view.y - at.y) * share;
    }
    this.view.half = half;
    this.draw();
  }

  // --- places -------------------------------------------------------------------------------------------------
  size() { return this.room || { w: 360, h: 360 }; }
  scale() { const { w, h: high } = this.size(); return Math.min(w, high) / (2 * this.view.half); }
  px(x, y) { const { w, h: high } = this.size(), k = this.scale(); return [w / 2 + (x - this.view.x) * k, high / 2 - (y - this.view.y) * k]; }
  place(px, py) { const { w, h: high } = this.size(), k = this.scale(); return { x: this.view.x + (px - w / 2) / k, y: this.view.y - (py - high / 2) / k }; }
  of(event) { const box = this.svg.getBoundingClientRect(); return [event.clientX - box.left, event.clientY - box.top]; }
  hole(id) { return this.holes.find((one) => one.id === id) || null; }

  nearest(px, py) {
    let best = null, far = NEAR;
    for (const hole of this.holes) {
      const [x, y] = this.px(hole.x, hole.y);
      const away = Math.hypot(px - x, py - y) - (hole.id === this.chosen ? 4 : 0);
      if (away < far) { best = hole; far = away; }
    }
    return best;
  }

  /** Where the knob of the chosen hole is: as it leans, else in the direction with the most room. */
  knob() {
    const hole = this.hole(this.chosen);
    if (!hole) return null;
    const [x, y] = this.px(hole.x, hole.y);
    const lean = Math.hypot(hole.lean_x || 0, hole.lean_y || 0) / DEGREE;
    if (lean > 0.05) {
      const far = STRAIGHT + lean * PER_DEGREE;
      return { x: x + (hole.lean_x / DEGREE / lean) * far, y: y - ((hole.lean_y || 0) / DEGREE / lean) * far, lean };
    }
    const { w, h: high } = this.size();
    let best = null;
    for (let turn = 0; turn < 12; turn += 1) {
      const a = (turn * Math.PI) / 6 + 0.5, far = 58;
      const at = { x: x + far * Math.cos(a), y: y - far * Math.sin(a) };
      const edge = Math.min(at.x - 20, at.y - 20, w - 20 - at.x, high - 20 - at.y);
      const room = this.holes.reduce((least, one) => {
        if (one.id === hole.id) return least;
        const [ox, oy] = this.px(one.x, one.y);
        return Math.min(least, Math.hypot(at.x - ox, at.y - oy));
      }, 60);
      const worth = room + Math.min(edge, 0) * 5;
      if (!best || worth > best.worth + 0.01) best = { ...at, worth, lean: hole.lean_x === null || hole.lean_x === undefined ? null : 0 };
    }
    return best;
  }

  // --- fingers, mouse, keys -----------------------------------------------------------------------------------
  listen() {
    const svg = this.svg;
    svg.addEventListener("pointerdown", (event) => this.down(event));
    svg.addEventListener("pointermove", (event) => this.move(event));
    svg.addEventListener("pointerup", (event) => this.up(event));
    svg.addEventListener("pointercancel", (event) => this.cancel(event));
    svg.addEventListener("contextmenu", (event) => event.preventDefault());
    svg.addEventListener("wheel", (event) => { event.preventDefault(); this.zoom(Math.exp(-event.deltaY / 400), this.place(...this.of(event))); }, { passive: false });
    svg.addEventListener("keydown", (event) => this.key(event));
    svg.addEventListener("blur", () => { this.cross = null; this.leaning = false; this.draw(); });
  }

  down(event) {
    if (event.button > 0) return;
    this.svg.setPointerCapture(event.pointerId);
    const at = this.of(event);
    this.pointers.set(event.pointerId, at);
    if (this.pointers.size === 2) { this.pinch(); return; }
    if (this.pointers.size > 2) return;
    const knob = this.knob();
    const hole = this.nearest(...at);
    const finger = event.pointerType !== "mouse";
    const free = this.heard.free();
    if (knob && Math.hypot(at[0] - knob.x, at[1] - knob.y) < 24) {
      this.held = { what: "knob", id: this.chosen, at, moved: false, puts: free };
    } else if (hole && (!free || hole.id === this.chosen)) {
      // While shafts are left to tap, a touch beside a hole is the next hole; only a drag takes hold of the chosen one.
      this.held = { what: "hole", id: hole.id, at, from: { x: hole.x, y: hole.y }, moved: false, puts: free };
      this.chosen = hole.id;
    } else {
      this.held = { what: finger ? "aim" : "ground", at, view: { ...this.view }, moved: false };
      if (finger) this.look(at);
    }
    this.draw();
  }

  pinch() {
    const held = this.held;
    const hole = held?.what === "hole" ? this.hole(held.id) : null;
    if (hole) Object.assign(hole, held.from);
    this.unlook();
    const [a, b] = [...this.pointers.values()];
    const middle = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    this.held = { what: "pinch", apart: Math.hypot(a[0] - b[0], a[1] - b[1]) || 1, half: this.view.half, on: this.place(...middle) };
  }

  move(event) {
    if (!this.pointers.has(event.pointerId)) return;
    const at = this.of(event);
    this.pointers.set(event.pointerId, at);
    const held = this.held;
    if (!held) return;
    const away = held.at ? Math.hypot(at[0] - held.at[0], at[1] - held.at[1]) : 0;
    if (held.what === "pinch" && this.pointers.size === 2) this.pinching(held);
    else if (held.what === "knob" && (held.moved || away > STILL)) {
      held.moved = true;
      this.lean(held.id, at);
    }
    else if (held.what === "hole" && (held.moved || away > STILL)) {
      held.moved = true;
      const k = this.scale(), hole = this.hole(held.id);
      if (!hole) return;
      hole.x = held.from.x + (at[0] - held.at[0]) / k;
      hole.y = held.from.y - (at[1] - held.at[1]) / k;
      if (event.pointerType !== "mouse") this.look(this.px(hole.x, hole.y));
    } else if (held.what === "aim") this.look(at);
    else if (held.what === "ground" && (held.moved || away > STILL)) {
      held.moved = true;
      const k = this.scale();
      this.view = { ...this.view, x: held.view.x - (at[0] - held.at[0]) / k, y: held.view.y + (at[1] - held.at[1]) / k };
    }
    this.draw();
  }

  pinching(held) {
    const [a, b] = [...this.pointers.values()];
    const apart = Math.hypot(a[0] - b[0], a[1] - b[1]) || 1;
    const half = Math.min(Math.max((held.half * held.apart) / apart, 0.015), 1.5);
    this.view = { ...this.view, half };
    const under = this.place((a[0] + b[0]) / 2, (a[1] + b[1]) / 2);
    this.view.x += held.on.x - under.x;
    this.view.y += held.on.y - under.y;
  }

  up(event) {
    if (!this.pointers.delete(event.pointerId)) return;
    const held = this.held, at = this.of(event);
    if (held?.what === "pinch") { if (!this.pointers.size) this.held = null; return; }
    this.held = null;
    this.unlook();
    if (!held) return;
    if (held.puts && !held.moved) { const put = this.place(...at); this.heard.put(put.x, put.y); return; }
    if (held.what === "knob") { if (held.moved) this.told(held.id); }
    else if (held.what === "hole") {
      const hole = this.hole(held.id);
      if (held.moved && hole) this.heard.moved(held.id, hole.x, hole.y);
      this.heard.chose(held.id);
    } else if (held.what === "aim" || !held.moved) {
      const { w, h: high } = this.size();
      if (at[0] < 0 || at[1] < 0 || at[0] > w || at[1] > high) this.draw();
      else { const put = this.place(...at); this.heard.put(put.x, put.y); return; }
    }
    this.draw();
  }

  cancel(event) {
    this.pointers.delete(event.pointerId);
    const hole = this.held?.what === "hole" ? this.hole(this.held.id) : null;
    if (hole) Object.assign(hole, this.held.from);
    this.held = null;
    this.unlook();
    this.draw();
  }

  lean(id, at) {
    const hole = this.hole(id);
    if (!hole) return;
    const [x, y] = this.px(hole.x, hole.y);
    const dx = at[0] - x, dy = y - at[1], far = Math.hypot(dx, dy);
    const degrees = Math.min(Math.max(0, Math.round(((far - STRAIGHT) / PER_DEGREE) * 2) / 2), MOST);
    hole.lean_x = degrees ? (dx / far) * degrees * DEGREE : 0;
    hole.lean_y = degrees ? (dy / far) * degrees * DEGREE : 0;
    this.draw();
  }

  told(id) { const hole = this.hole(id); if (hole) this.heard.leaned(id, hole.lean_x ?? null, hole.lean_y ?? null); }

  key(event) {
    const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const name = event.key;
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (moves[name]) this.keyMove(moves[name], event.shiftKey);
    else if (name === "Enter" || name === " ") { const at = this.cross || { x: this.view.x, y: this.view.y }; this.cross = at; this.heard.put(at.x, at.y); }
    else if (name === "+" || name === "=") this.zoom(1.5, this.cross);
    else if (name === "-") this.zoom(1 / 1.5, this.cross);
    else if (name === "n" || name === "p") this.step(name === "n" ? 1 : -1);
    else if (name === "l" && this.chosen) { this.leaning = !this.leaning; this.spoken.textContent = this.leaning ? "Arrows lean the nock now." : "Arrows move the cross again."; }
    else if (name === "Escape") { this.leaning = false; this.chosen = null; this.heard.chose(null); }
    else if ((name === "Delete" || name === "Backspace") && this.chosen) this.heard.remove(this.chosen);
    else return;
    event.preventDefault();
    this.draw();
  }

  keyMove([dx, dy], fine) {
    if (this.leaning && this.hole(this.chosen)) {
      const hole = this.hole(this.chosen);
      hole.lean_x = (hole.lean_x || 0) + dx * DEGREE * (fine ? 0.5 : 1);
      hole.lean_y = (hole.lean_y || 0) + dy * DEGREE * (fine ? 0.5 : 1);
      this.told(hole.id);
      return;
    }
    const step = (metric ? 0.005 : 0.00635) * (fine ? 0.2 : 1);
    const at = this.cross || { x: this.view.x, y: this.view.y };
    this.cross = { x: at.x + dx * step, y: at.y + dy * step };
    this.spoken.textContent = words(this.cross);
  }

  step(by) {
    if (!this.holes.length) return;
    const at = this.holes.findIndex((hole) => hole.id === this.chosen);
    const next = this.holes[(at + by + this.holes.length) % this.holes.length];
    this.chosen = next.id;
    this.cross = { x: next.x, y: next.y };
    this.heard.chose(next.id);
    this.spoken.textContent = `Shaft ${next.shaft}, ${next.state}: ${words(next)}`;
  }

  // --- drawing ------------------------------------------------------------------------------------------------
  look(at) {
    const { w } = this.size();
    const left = Math.min(Math.max(at[0] - LOUPE / 2 + 18, 0), w - LOUPE + 36);
    const above = at[1] - LOUPE - 34;
    this.loupe.hidden = false;
    this.loupe.style.left = `${left}px`;
    this.loupe.style.top = `${above < -70 ? at[1] + 44 : above}px`;
    this.lookAt = at;
  }

  unlook() { this.loupe.hidden = true; this.loupe.replaceChildren(); this.lookAt = null; }

  draw() {
    if (!this.room) return;
    const { w, h: high } = this.size();
    this.svg.setAttribute("viewBox", `0 0 ${w} ${high}`);
    const parts = s("g");
    this.taken = [];
    parts.append(this.ground(w, high), this.gapDrawing());
    this.numbers = this.placed(w, high);
    parts.append(...this.holes.filter((hole) => hole.id !== this.chosen).map((hole) => this.mark(hole)));
    const chosen = this.hole(this.chosen);
    if (chosen) parts.append(...this.knobDrawing(chosen), this.mark(chosen));
    if (this.cross) parts.append(this.crossDrawing(...this.px(this.cross.x, this.cross.y)));
    this.svg.replaceChildren(parts);
    if (!this.loupe.hidden && this.lookAt) this.drawLoupe(parts);
  }

  drawLoupe(parts) {
    const span = LOUPE / 3;
    const [x, y] = this.lookAt;
    const copy = parts.cloneNode(true);
    const svg = s("svg", { class: "target-copy target", viewBox: `${x - span / 2} ${y - span / 2} ${span} ${span}` }, copy);
    svg.append(s("path", { stroke: "var(--ink)", "stroke-width": 1.4, opacity: 0.75, d: `M${x - span} ${y}h${span * 2}M${x} ${y - span}v${span * 2}` }));
    this.loupe.replaceChildren(svg);
  }

  ground(w, high) {
    const g = s("g");
    const k = this.scale();
    for (const ring of this.rings) {
      const [x, y] = this.px(0, 0);
      g.append(s("circle", { cx: x, cy: y, r: ring.radius * k, fill: FACE[ring.fill] || ring.fill, stroke: ring.line === "white" ? "#fff" : "#111", "stroke-width": 1 }));
    }
    const grid = metric ? 0.01 : 0.0254;
    const finest = [grid / 10, grid / 4, grid / 2, grid, grid * 5].filter((step) => (metric ? step !== grid / 4 : step !== grid / 10));
    const step = finest.find((one) => one * k >= 11) || grid * 10;
    const strong = step < grid ? grid : step === grid ? grid * 5 : step * 2;
    const { x: left, y: top } = this.place(0, 0);
    const lines = { fine: "", strong: "", axis: "" };
    const kind = (n) => (n === 0 ? "axis" : Math.abs(n * step / strong - Math.round(n * step / strong)) < 1e-6 ? "strong" : "fine");
    for (let n = Math.ceil(left / step); n * step < left + w / k; n += 1) lines[kind(n)] += `M${this.px(n * step, 0)[0].toFixed(1)} 0V${high}`;
    for (let n = Math.floor(top / step); n * step > top - high / k; n -= 1) lines[kind(n)] += `M0 ${this.px(0, n * step)[1].toFixed(1)}H${w}`;
    for (const name of ["fine", "strong", "axis"]) if (!this.rings.length || name === "axis") g.append(s("path", { class: name, d: lines[name], fill: "none" }));
    g.append(...this.labels(w, high, strong, k));
    return g;
  }

  labels(w, high, strong, k) {
    const grid = metric ? 0.01 : 0.0254;
    const [ox, oy] = this.px(0, 0);
    const out = [s("text", { x: 8, y: 18, class: "soft" }, "left"), s("text", { x: w - 8, y: 18, "text-anchor": "end" }, "right")];
    out.push(s("circle", { cx: ox, cy: oy, r: 6, class: "cursor" }), s("circle", { cx: ox, cy: oy, r: 1.5, class: "filled" }));
    const y = Math.min(Math.max(oy + 15, 34), high - 6);
    const every = strong * Math.ceil(46 / (strong * k));
    for (let n = -12; n <= 12; n += 1) {
      const x = ox + n * every * k;
      if (n === 0 || x < 22 || x > w - 22) continue;
      this.taken.push(around(x, y - 4, 9, 6));
      out.push(s("text", { x, y, "text-anchor": "middle", "font-size": 11, opacity: 0.8 }, String(+((Math.abs(n) * every) / grid).toFixed(2))));
    }
    out.push(s("text", { x: w - 8, y: high - 8, "text-anchor": "end", "font-size": 11, opacity: 0.8 }, metric ? "cm from the spot" : "inches from the spot"));
    return out;
  }

  gapDrawing() {
    const g = s("g");
    const gap = this.gap;
    if (!gap) return g;
    const k = this.scale();
    const oval = (e, cx, cy, cls) => {
      const [x, y] = this.px(cx, cy);
      return s("ellipse", { rx: e.major * k, ry: e.minor * k, transform: `translate(${x} ${y}) rotate(${(-e.angle * 180) / Math.PI})`, class: cls, "stroke-width": 1.5, "stroke-dasharray": cls === "room" ? "5 4" : null });
    };
    const { from, to } = gap;
    if (gap.allowed) g.append(oval(gap.allowed, from.x, from.y, "room"));
    const [x1, y1] = this.px(from.x, from.y), [x2, y2] = this.px(to.x, to.y);
    g.append(s("line", { x1, y1, x2, y2, class: "ink", "stroke-width": 1.6 }));
    this.taken.push(around(x1, y1, 8), around(x2, y2, 8));
    g.append(s("path", { class: "fletched", "stroke-width": 2, d: `M${x1 - 7} ${y1}h14M${x1} ${y1 - 7}v14` }), s("path", { class: "bare", "stroke-width": 2, d: `M${x2 - 7} ${y2}h14M${x2} ${y2 - 7}v14` }));
    return g;
  }

  /** Radius of a hole's mark. */
  reach() { return Math.max(10, Math.min(this.radius * this.scale(), 30)); }

  /** Where each hole's number keeps clear of the other holes, their numbers, the middles and the scale. */
  placed(w, high) {
    const r = this.reach(), found = new Map();
    const taken = [...this.taken, ...this.holes.map((hole) => around(...this.px(hole.x, hole.y), r))];
    for (const hole of this.holes) {
      const [x, y] = this.px(hole.x, hole.y), wide = 8 * String(hole.shaft).length;
      const [right, left, middle] = [x + r + 2, x - r - 2 - wide, x - wide / 2];
      const offers = [[right, y - 7], [left, y - 7], [right, y + 10], [left, y + 10], [middle, y - r - 13], [middle, y + r + 2], [right, y - r - 9], [left, y + r + 2]]
        .map(([x0, y0]) => ({ x0, y0: y0 - 2, x1: x0 + wide, y1: y0 + 11 }));
      const inside = offers.filter((one) => one.x0 > 0 && one.y0 > 0 && one.x1 < w && one.y1 < high);
      const best = clearest(inside.length ? inside : offers, taken);
      taken.push(best);
      found.set(hole.id, { x: best.x0 - x, y: best.y1 - 1 - y });
    }
    return found;
  }

  mark(hole) {
    const [x, y] = this.px(hole.x, hole.y);
    const r = this.reach();
    const g = s("g", { transform: `translate(${x.toFixed(2)} ${y.toFixed(2)})`, "data-tap": hole.id, class: hole.bad ? "called-bad" : null });
    const lean = Math.hypot(hole.lean_x || 0, hole.lean_y || 0) / DEGREE;
    if (lean > 0.05) {
      const far = STRAIGHT + lean * PER_DEGREE - 14;
      g.append(s("line", { x1: 0, y1: 0, x2: ((hole.lean_x || 0) / DEGREE / lean) * far, y2: (-(hole.lean_y || 0) / DEGREE / lean) * far, class: "lean" }));
    }
    if (hole.id === this.chosen) g.append(s("circle", { r: r + 7, class: "chosen" }));
    if (hole.waits) g.append(s("circle", { r: r + 4, class: "unsaved" }));
    g.append(s("circle", { r, class: "halo" }), ...marks(hole.state, r, 2.4));
    if (hole.bad) g.append(s("path", { class: "ink", "stroke-width": 2, d: `M${-r} ${r}L${r} ${-r}` }));
    g.append(s("text", { ...this.numbers.get(hole.id), class: "number-of" }, String(hole.shaft)));
    return g;
  }

  knobDrawing(hole) {
    const knob = this.knob();
    const [x, y] = this.px(hole.x, hole.y);
    const set = knob.lean !== null;
    const label = knob.lean === null ? "nock?" : knob.lean ? `${+knob.lean.toFixed(1)}°` : "straight";
    return [
      s("line", { x1: x, y1: y, x2: knob.x, y2: knob.y, class: "cursor", "stroke-dasharray": set ? null : "2 4" }),
      s("circle", { cx: knob.x, cy: knob.y, r: 12, class: "knob", "data-knob": hole.id }),
      s("path", { d: `M${knob.x - 4} ${knob.y - 4}v5a4 4 0 0 0 8 0v-5`, class: "cursor" }),
      s("text", { x: knob.x, y: knob.y + 27, "text-anchor": "middle", class: "number-of" }, label),
    ];
  }

  crossDrawing(x, y) { return s("path", { class: "cursor", "stroke-width": 2, d: `M${x - 16} ${y}h12M${x + 4} ${y}h12M${x} ${y - 16}v12M${x} ${y + 4}v12` }); }
}

// Colours of published faces: gold, red, blue, black, white as the rule book names them.
const FACE = { gold: "#ffe552", yellow: "#ffe552", red: "#f65058", blue: "#00b4e4", black: "#2a2a2a", white: "#ffffff" };

/** Where a place is, in words. */
export function words(at, word = metric ? "cm" : "inches") {
  const size = metric ? 0.01 : 0.0254;
  const side = (value, plus, minus) => (Math.abs(value) < size / 50 ? "" : `${value > 0 ? plus : minus} ${(Math.abs(value) / size).toFixed(2)} ${word}`);
  return [side(at.x, "right", "left"), side(at.y, "high", "low")].filter(Boolean).join(", ") || "on the spot";
}
