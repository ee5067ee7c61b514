// Small tools for every page: elements, ids, requests, numbers for drawings.
const SVG = "http://www.w3.org/2000/svg";
const LETTERS = "abcdefghjkmnpqrstuvwxyz23456789";

/** An element with attributes and children; `on...` keys are listeners. */
export function h(name, attributes = {}, ...children) {
  return fill(document.createElement(name), attributes, children);
}

/** The same for a part of a drawing. */
export function s(name, attributes = {}, ...children) {
  return fill(document.createElementNS(SVG, name), attributes, children);
}

function fill(made, attributes, children) {
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

/** Put `parts` into `place` in the stead of what is there; the keyboard stays where it was, or as near as it can. */
export function swap(place, ...parts) {
  const held = place.contains(document.activeElement) ? document.activeElement.getAttribute("aria-label") : null;
  place.replaceChildren(...parts);
  if (held === null) return;
  const again = place.querySelector(`[aria-label="${CSS.escape(held)}"]`);
  if (!again) place.tabIndex = -1;
  (again || place).focus({ preventScroll: true });
}

/** An id of 8 letters after `first`; works without a secure context. */
export function newId(first) {
  const bytes = crypto.getRandomValues(new Uint8Array(8));
  return first + Array.from(bytes, (byte) => LETTERS[byte % LETTERS.length]).join("");
}

/** This page, as the server tells it apart from others. */
export const CLIENT = newId("c");

/** What the page was sent along with. */
export function pageData() {
  return JSON.parse(document.getElementById("data").textContent);
}

/** The bench's address under the API. */
export const BENCH = document.body.dataset.bench || "";
export const api = (path) => `/api/benches/${BENCH}${path}`;

/** Ask the server; {ok, status, body}. Status 0 means it could not be reached, or its answer was torn on the way: what
 * it did then is not known, and asking once more with the same id does it once. */
export async function ask(method, url, body) {
  try {
    const answer = await fetch(url, {
      method,
      headers: { "Content-Type": "application/json", "X-Client": CLIENT },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
    if (answer.ok) return { ok: true, status: answer.status, body: await answer.json() };
    let found = null;
    try { found = await answer.json(); } catch { /* a refusal without an object, of something between us and the bench */ }
    return { ok: false, status: answer.status, body: found };
  } catch {
    return { ok: false, status: 0, body: null };
  }
}

/** What to show when an answer was no success. */
export function sentenceOf(answer) {
  if (answer.status === 0) return "The bench did not answer. Look whether it is done; if not, press once more.";
  const error = answer.body?.error;
  const name = error?.field && CSS.escape(error.field.replace(/^event\[\d+\]\./, ""));
  const field = name && document.querySelector(`[data-key="${name}"], [data-hand="${name}"]`);
  const label = field?.closest("label")?.querySelector("span")?.firstChild.textContent.trim();
  if (error && label) return `${label}: ${error.sentence}`;
  return error?.sentence || "The bench could not do that; nothing was changed.";
}

/** Local time as the session file writes it. */
export function now() {
  const date = new Date();
  const two = (number) => String(number).padStart(2, "0");
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}T${two(date.getHours())}:${two(date.getMinutes())}:${two(date.getSeconds())}`;
}

/** Say something to everybody, screen readers included. */
export function tell(text, wrong = false) {
  const place = document.getElementById("told");
  if (!place) return;
  place.replaceChildren(text ? h("p", { class: wrong ? "care wrong" : "care" }, text) : "");
  if (wrong && text) place.scrollIntoView({ block: "nearest" });
}

export const metric = document.body.dataset.units === "metric";
/** Where bare and fletched are compared, whatever the units. */
export const usual = metric ? "20 yd (18.3 m)" : "20 yd";
/** A length [m] in the chosen units, for labels of drawings only. */
export const INCH = 0.0254;
export const unit = metric ? { size: 0.01, word: "cm" } : { size: INCH, word: "in" };

/** Numbers of {shape, data}: little-endian float32. */
export function floats(array) {
  const raw = atob(array.data);
  const bytes = new Uint8Array(raw.length);
  for (let at = 0; at < raw.length; at += 1) bytes[at] = raw.charCodeAt(at);
  return new Float32Array(bytes.buffer);
}

/** The mark of a fletched (three vanes) or bare (ring) arrow, `size` wide. */
export function glyph(state, size = 18) {
  const box = s("svg", { viewBox: "-12 -12 24 24", width: size, height: size, "aria-hidden": "true" });
  box.append(...marks(state, 10, 2.6));
  return box;
}

/** The strokes of a mark with radius `r`. */
export function marks(state, r, width) {
  if (state === "bare") {
    return [s("circle", { r: r * 0.8, class: "bare", "stroke-width": width }), s("circle", { r: r * 0.16, class: "bare-fill" })];
  }
  const lines = [90, 210, 330].map((angle) => {
    const a = (angle * Math.PI) / 180;
    return s("line", { x1: 0, y1: 0, x2: r * Math.cos(a), y2: -r * Math.sin(a), class: "fletched", "stroke-width": width * 1.25, "stroke-linecap": "round" });
  });
  return [...lines, s("circle", { r: r * 0.3, class: "fletched-fill" })];
}

/** Of several boxes {x0, y0, x1, y1} the first that keeps clearest of those `taken`. */
export function clearest(offers, taken) {
  let best = null;
  for (const one of offers) {
    const covered = taken.reduce((sum, other) => sum + Math.max(0, Math.min(one.x1, other.x1) - Math.max(one.x0, other.x0)) * Math.max(0, Math.min(one.y1, other.y1) - Math.max(one.y0, other.y0)), 0);
    if (!best || covered < best.covered - 0.5) best = { ...one, covered };
  }
  return best;
}

/** A box round a place, `across` and `up` to each side. */
export const around = (x, y, across, up = across) => ({ x0: x - across, y0: y - up, x1: x + across, y1: y + up });

/** Path of an ellipse {x, y, major, minor, angle} in the drawing's units: x right, y up, `k` units a metre. */
export function ellipse(e, k, attributes) {
  const turn = (-e.angle * 180) / Math.PI;
  return s("ellipse", {
    cx: 0, cy: 0, rx: e.major * k, ry: e.minor * k,
    transform: `translate(${e.x * k} ${-e.y * k}) rotate(${turn})`, ...attributes,
  });
}
