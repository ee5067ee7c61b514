// Keeps an open page fresh: one stream of messages while it is visible, parts swapped when the bench changed,
// long work started, shown and cancelled.
import { BENCH, CLIENT, api, ask, h, sentenceOf, tell } from "./dom.js";

const heard = { changed: new Set(), job: new Set() };
let stream = null;
let revision = Number(document.body.dataset.revision || 0);

/** Hear of "changed" ({revision, by, what, id}; own = this page's doing) or "job" messages. */
export function on(name, listener) { heard[name].add(listener); }

function open() {
  if (!BENCH || stream || document.hidden) return;
  stream = new EventSource(api("/stream"));
  for (const name of Object.keys(heard)) {
    stream.addEventListener(name, (message) => {
      const data = JSON.parse(message.data);
      if (name === "changed") {
        const news = data.revision > revision;
        revision = Math.max(revision, data.revision);
        if (!news && data.what === "hello") return;
      }
      for (const listener of heard[name]) listener({ ...data, own: data.by === CLIENT });
    });
  }
}

function close() { stream?.close(); stream = null; }

document.addEventListener("visibilitychange", () => (document.hidden ? close() : open()));
window.addEventListener("pagehide", close);
window.addEventListener("pageshow", open); // comes once the page has loaded, and when one goes back to it

/** The answer to a write moved the bench on; its own echo is no news. */
export function known(number) { revision = Math.max(revision, number || 0); }

/** Fetch this page anew and swap every part marked data-live. */
export async function refresh() {
  let text;
  try {
    const answer = await fetch(location.href, { headers: { "X-Client": CLIENT } });
    if (!answer.ok) return null;
    text = await answer.text();
  } catch { return null; }
  const fresh = new DOMParser().parseFromString(text, "text/html");
  for (const part of document.querySelectorAll("[data-live]")) {
    const other = fresh.querySelector(`[data-live="${part.dataset.live}"]`);
    if (!other || other.innerHTML === part.innerHTML) continue;
    const opened = [...part.querySelectorAll("details[id][open]")].map((one) => one.id);
    const held = part.contains(document.activeElement);
    part.innerHTML = other.innerHTML;
    if (held) { part.tabIndex = -1; part.focus({ preventScroll: true }); } // the keyboard goes on from where it was
    for (const id of opened) part.querySelector(`#${CSS.escape(id)}`)?.setAttribute("open", "");
  }
  const data = fresh.getElementById("data");
  if (data) document.getElementById("data").textContent = data.textContent;
  document.dispatchEvent(new CustomEvent("refreshed"));
  return fresh;
}

/** Show the state of a job in the element `place`; `done` is called once it is. */
export function follow(place, done) {
  let current = null;
  let timer = 0;
  // Quick work may be done before the answer that names it is here, and messages are lost while the stream is away.
  const check = async () => {
    const id = current?.job;
    const answer = await ask("GET", `/api/jobs/${id}`);
    if (current?.job !== id || !["waiting", "running"].includes(current.state)) return;
    if (!answer.ok) { timer = setTimeout(check, 2000); return; }
    show(answer.body);
    if (answer.body.state === "done") done();
  };
  const show = (job) => {
    clearTimeout(timer);
    if (["waiting", "running"].includes(job?.state)) timer = setTimeout(check, current?.job === job.job ? 2000 : 250);
    current = job;
    if (!job || job.state === "done" || job.state === "cancelled") { place.replaceChildren(); return; }
    if (job.state === "failed") { place.replaceChildren(h("p", { class: "care" }, job.error ? sentenceOf({ body: { error: job.error } }) : "That could not be computed.")); return; }
    place.replaceChildren(
      h("p", { class: "small quiet" }, `${job.words} … ${Math.round(job.share * 100)} %`),
      h("progress", { max: 1, value: job.share || 0.01, "aria-label": job.words }),
      h("p", {}, h("button", { type: "button", onclick: () => ask("DELETE", `/api/jobs/${job.job}`) }, "Stop this")),
    );
  };
  on("job", (job) => {
    if (!current || job.what !== current.what) return;
    if (job.job !== current.job && job.state === "cancelled") return;
    show(job);
    if (job.state === "done") done();
  });
  return show;
}

/** Start long work `what`; shows it in `place`. */
export async function start(what, body, show, done) {
  const answer = await ask("POST", api(`/ask/${what}`), body);
  if (!answer.ok) { tell(sentenceOf(answer), true); return; }
  show(answer.body);
  if (answer.body.state === "done") done();
}
