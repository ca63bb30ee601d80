// What every page does: the key list on "?", and a word when the desk does not answer.
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

export { send };
