// What every page does: the key list on "?", and no form sent off while the desk does not answer.
import { isTyping } from "./typing.js";
import { Refused, send } from "./desk.js";

const keys = document.getElementById("keys");

function showKeys() {
  if (keys.open) keys.close();
  else keys.showModal();
}

document.addEventListener("click", (event) => {
  if (event.target.closest("[data-open='keys']")) showKeys();
});

document.addEventListener("keydown", (event) => {
  if (event.key !== "?" || event.ctrlKey || event.metaKey || isTyping(event.target)) return;
  event.preventDefault();
  showKeys();
});

/** A form leaves the page when the desk is there to take it: until then it says so and waits. */
async function whenThere(form, submitter) {
  form.dataset.waits = "yes";
  await send("/static/mark.svg", { cache: "no-store" });
  form.dataset.waits = "over";
  form.requestSubmit(submitter);
  delete form.dataset.waits;
}

/** Why the desk did not do it, said beside what was pressed: nothing that was typed is lost. */
function sayWhy(form, pressed, why) {
  const words = document.createElement("p");
  Object.assign(words, { className: "refused", textContent: why });
  words.setAttribute("role", "alert");
  const beside = pressed?.closest(".row") ?? pressed;
  if (beside) beside.after(words);
  else form.prepend(words);
  words.scrollIntoView({ block: "nearest" });
  const field = pressed?.closest(".row")?.querySelector("input, select, textarea");
  (field ?? pressed)?.focus({ preventScroll: true });
}

/** A form with data-stays: the page is left when the desk says where to, not before. */
async function sendFromHere(form, pressed) {
  form.dataset.waits = "yes";
  form.querySelector(".refused")?.remove();
  try {
    const options = { method: "POST", body: new FormData(form, pressed), headers: { "X-Desk-Stays": "yes" } };
    const answer = await send(form.getAttribute("action"), options);
    location.assign(answer.headers.get("Location"));
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    delete form.dataset.waits;
    sayWhy(form, pressed, error.message);
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.getAttribute("method") !== "post" || event.defaultPrevented || form.dataset.waits === "over") return;
  event.preventDefault();
  if (form.dataset.waits) return;
  if ("stays" in form.dataset) sendFromHere(form, event.submitter);
  else whenThere(form, event.submitter);
});

export { send };
