// What every page does: the key list on "?", and no form sent off while the desk does not answer.
import { isTyping } from "./typing.js";
import { send } from "./desk.js";

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

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.getAttribute("method") !== "post" || event.defaultPrevented || form.dataset.waits === "over") return;
  event.preventDefault();
  if (!form.dataset.waits) whenThere(form, event.submitter);
});

export { send };
