// What was tapped and is not on the server's disk yet: kept in this browser, sent again until it is.
// An entry keeps its id, so sending it twice saves it once; an answer of 4xx takes it out and says why, but for
// 401 and 429: a phone that was taken off keeps its entries until it joined again.
import { ask, h } from "./dom.js";

const KEY = "spinewright.outbox";
const listeners = new Set();
let running = false;
let wait = 0;
let timer = 0;

function read() {
  try { return JSON.parse(localStorage.getItem(KEY) || "[]"); } catch { return []; }
}

function write(entries) {
  localStorage.setItem(KEY, JSON.stringify(entries));
  show(entries.length);
}

/** Entries that wait, oldest first: {id, url, body, turn}. */
export const waiting = () => read();

/** Put an entry in and send; the same id again replaces what was not sent. */
export function send(id, url, body) {
  const entries = read();
  const before = entries.find((entry) => entry.id === id);
  if (before) Object.assign(before, { body, url, turn: before.turn + 1 });
  else entries.push({ id, url, body, turn: 0 });
  write(entries);
  wait = 0;
  run();
}

/** Hear of every answer: ({id, ok, answer}). */
export function onAnswer(listener) { listeners.add(listener); }

async function run() {
  if (running) return;
  running = true;
  clearTimeout(timer);
  try {
    for (let entries = read(); entries.length; entries = read()) {
      const first = entries[0];
      const answer = await ask("PUT", first.url, first.body);
      if (answer.status === 0 || answer.status >= 500 || answer.status === 401 || answer.status === 429) {
        wait = Math.min(wait ? wait * 1.6 : 400, 4000);
        timer = setTimeout(run, wait);
        return;
      }
      wait = 0;
      const left = read();
      const at = left.findIndex((entry) => entry.id === first.id);
      const replaced = at >= 0 && left[at].turn !== first.turn;
      if (at >= 0 && (!replaced || !answer.ok)) left.splice(at, 1);
      write(left);
      for (const listener of listeners) listener({ id: first.id, ok: answer.ok, answer, url: first.url, last: !replaced });
    }
  } finally {
    running = false;
    show(read().length);
  }
}

function show(count) {
  document.body.dataset.waiting = count;
  const place = document.getElementById("saving");
  if (!place) return;
  clearTimeout(show.timer);
  if (!count) { place.replaceChildren(); return; }
  const words = `${count} not saved yet`;
  const put = () => { if (read().length) place.replaceChildren(h("span", { class: "saving", title: "Kept in this browser; sent as soon as the bench answers." }, words)); };
  if (place.firstChild) put(); else show.timer = setTimeout(put, 250);
}

show(read().length);
window.addEventListener("online", () => { wait = 0; run(); });
window.addEventListener("pageshow", () => { wait = 0; run(); });
document.addEventListener("visibilitychange", () => { if (!document.hidden) { wait = 0; run(); } });
