// The coordinator's room: digits press decisions, arrows go from message to message.
import { isChord, isTyping } from "../typing.js";
import "./arrivals.js";
import { SiteMap } from "./map.js";

const at = (id) => document.getElementById(id);
const site = at("site");

if (at("map")) {
  const map = new SiteMap(at("map"), (name) => {
    site.value = name;
    site.focus();
  }, (latitude, longitude, point) => {
    if (!at("new-site").open) return;
    at("new-latitude").value = latitude.toFixed(5);
    at("new-longitude").value = longitude.toFixed(5);
    map.mark(point);
  });
}

/** The message before or after the one on the page, in the order of the list. */
function step(by) {
  const links = [...document.querySelectorAll("#list [data-message]")];
  const here = links.findIndex((link) => link.getAttribute("aria-current"));
  links[here + by]?.click();
}

/** To the field of the site, wherever the page has it. */
function typeSite() {
  const folded = site?.closest("details");
  if (folded) folded.open = true;
  site?.focus();
}

/** To the decision's heading: from there digits decide and Tab goes on. */
function heading(wanted) {
  (wanted ?? document.querySelector("#decision h2, .record h3"))?.focus({ preventScroll: true });
}

const TICKED = "ticked messages"; // in this tab, on the way from message to message

/** The ticked messages are there again on each page, and the decision says which they are. */
function ticks(form) {
  const boxes = [...document.querySelectorAll("#list input[name='message']")];
  const current = form.elements.current.value;
  const kept = () => JSON.parse(sessionStorage.getItem(TICKED) ?? "[]");

  function show() {
    for (const box of boxes) box.checked = kept().includes(box.value);
    tell();
  }

  function tell() {
    const others = boxes.filter((box) => box.checked && box.value !== current);
    const names = others.map((box) => `“${box.parentElement.querySelector("a").textContent}”`);
    at("ticked").textContent = names.length ? `Decided together with this message: ${names.join(", ")}. ` : "";
    if (!names.length) return;
    const button = Object.assign(document.createElement("button"), { type: "button", textContent: "Take the ticks away" });
    button.addEventListener("click", () => {
      for (const box of boxes) box.checked = false;
      keep();
      heading();
    });
    at("ticked").append(button);
  }

  function keep() {
    const here = boxes.map((box) => box.value);
    const elsewhere = kept().filter((one) => !here.includes(one)); // on another part of a long list
    sessionStorage.setItem(TICKED, JSON.stringify([...elsewhere, ...boxes.filter((box) => box.checked).map((box) => box.value)]));
    tell();
  }

  for (const box of boxes) box.addEventListener("change", keep);
  form.addEventListener("taken", (event) => {
    if (event.detail !== "preview") sessionStorage.removeItem(TICKED);
  });
  addEventListener("pageshow", show); // by the browser's back button, too, which has ticks of its own
  show();
}

const acts = {
  ArrowDown: () => step(1),
  ArrowUp: () => step(-1),
  s: typeSite,
  "<": () => at("undo")?.click(),
  ">": () => at("redo")?.click(),
  x: () => document.querySelector("#list .here input")?.click(),
};

document.addEventListener("keydown", (event) => {
  if (isChord(event) || isTyping(event.target) || document.querySelector("dialog[open]")) return;
  if (event.repeat && !["ArrowDown", "ArrowUp"].includes(event.key)) return; // a key that is held decides once
  const pressed = document.querySelector(`[data-digit="${CSS.escape(event.key)}"]`);
  if (/^[1-9]$/.test(event.key) && pressed?.checkVisibility()) { // nothing is decided by what is folded away
    event.preventDefault();
    if (pressed.control) pressed.control.focus();
    else pressed.click();
  } else if (acts[event.key]) {
    event.preventDefault();
    acts[event.key]();
  }
});

// Enter in a field means the button beside it, not the first of the page; Escape leaves the field for the digits.
document.addEventListener("keydown", (event) => {
  const row = event.target.closest?.(".row");
  if (event.key === "Escape" && row && !event.isComposing) return heading(event.target.closest(".record")?.querySelector("h3"));
  if (event.key !== "Enter" || event.isComposing || !row || event.target.tagName !== "INPUT") return;
  event.preventDefault();
  (row.querySelector("button") ?? row.closest("details")?.querySelector("button[name='do']"))?.click();
});

if (at("decision-form")) ticks(at("decision-form"));
document.querySelector("#list .here")?.scrollIntoView({ block: "nearest" });
// The next thing to do is the decision (or the first record): Tab goes on from there, and a screen reader says it.
if (document.activeElement === document.body) heading();

document.documentElement.dataset.ready = "yes";
