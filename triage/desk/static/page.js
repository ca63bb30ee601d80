// What every page does: the key list on "?", and forms that stay with what was typed until the desk takes them.
import { isTyping } from "./typing.js";
import { Refused, send } from "./desk.js";
import { carriedOver, keepIfLeft, putBack, taken } from "./kept.js";

const keys = document.getElementById("keys");

function showKeys() {
  if (keys.open) keys.close();
  else keys.showModal();
}

document.addEventListener("click", (event) => {
  if (event.target.closest("[data-open='keys']")) showKeys();
});

// A double click presses once: its second click would decide what the next page asks.
document.addEventListener("click", (event) => {
  if (event.detail > 1 && event.target.closest("form[method=post] button")) event.preventDefault();
}, true);

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-more]");
  if (!button) return;
  const lines = [...document.querySelectorAll(button.dataset.more)].slice(0, Number(button.dataset.lines));
  for (const one of lines) one.hidden = false;
  lines[0]?.querySelector("input").focus();
});

document.addEventListener("keydown", (event) => {
  if (event.key !== "?" || event.ctrlKey || event.metaKey || isTyping(event.target)) return;
  event.preventDefault();
  showKeys();
});

/** Why the desk did not do it, said beside what was pressed: nothing that was typed is lost. */
function sayWhy(form, pressed, why, changed) {
  const words = document.createElement("p");
  Object.assign(words, { className: "refused", textContent: why });
  words.setAttribute("role", "alert");
  if (changed) words.append(" ", Object.assign(document.createElement("button"), { type: "button", textContent: "Load the page again", onclick: () => location.reload() }));
  const beside = pressed?.closest(".row") ?? pressed;
  if (beside) beside.after(words);
  else form.prepend(words);
  words.scrollIntoView({ block: "nearest" });
  const field = pressed?.closest(".row, #new-site")?.querySelector("input, select, textarea");
  (field ?? pressed)?.focus({ preventScroll: true });
}

/** What the page now has to say first: what is wrong, what was done, where to go on; a screen reader reads it, too. */
function goOn() {
  const main = document.getElementById("content");
  const first = ["[aria-invalid]", "[role='alert'], .done", "[autofocus]", "h1"].map((one) => main.querySelector(one)).find((one) => one?.checkVisibility());
  if (!first) return;
  if (first.tabIndex < 0) first.tabIndex = -1;
  first.focus();
}

/** The page that the desk answers with, in place of this one. */
async function show(answer) {
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  document.title = page.title;
  carriedOver(() => document.getElementById("content").replaceWith(document.adoptNode(page.getElementById("content"))));
  for (const menu of document.querySelectorAll(".menu[open]")) menu.open = false;
  goOn();
}

/** A file that was corrected since it was chosen is another one to the browser, which would only say that sending failed. */
async function readable(files) {
  for (const file of files) {
    await file.slice(0, 1).arrayBuffer().catch(() => { throw new Refused(`${file.name}: it was changed since it was chosen. Choose it again.`, 400); });
  }
}

/** A form is sent from the page, which stays until it is taken: what was typed is lost by no refusal and no stop. */
async function sendFromHere(form, pressed) {
  form.dataset.waits = "yes";
  form.querySelector(".refused")?.remove();
  try {
    const body = new FormData(form, pressed);
    await readable([...body.values()].filter((one) => one instanceof File && one.size));
    const options = { method: "POST", body, headers: { "X-Desk-Stays": "yes" } };
    const answer = await send(form.getAttribute("action"), options);
    taken(form);
    form.dispatchEvent(new CustomEvent("taken", { bubbles: true, detail: pressed?.value }));
    const next = answer.headers.get("Location");
    if (next) location.assign(next);
    else await show(answer);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    delete form.dataset.waits;
    keepIfLeft(form);
    sayWhy(form, pressed, error.message, error.status === 412);
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.getAttribute("method") !== "post" || event.defaultPrevented) return;
  event.preventDefault();
  if (!form.dataset.waits) sendFromHere(form, event.submitter);
});

putBack();
if (document.activeElement === document.body && document.querySelector("main .done")) goOn();

export { send };
