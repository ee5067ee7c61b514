// A phone that scanned a code: it says its name, hands the code in, and gets a token of its own.
import { ask, sentenceOf, tell } from "./dom.js";

const form = document.getElementById("pair");
const code = location.hash.slice(1);

if (code) form.hidden = false;
else tell("Scan the code that the bench shows under 'Join with a phone'.");

form.onsubmit = async (event) => {
  event.preventDefault();
  const button = form.querySelector("button");
  button.disabled = true;
  const answer = await ask("POST", "/api/pair", { code, name: document.getElementById("name").value });
  button.disabled = false;
  if (answer.ok) location.replace(answer.body.url);
  else tell(sentenceOf(answer), true);
};
