// What was typed into a form and is not with the desk: kept in this tab when the page is left, put back when it is there again.
const place = () => `typed at ${location.pathname} ${new URLSearchParams(location.search).get("number") ?? ""}`.trim();
const OF_ONE_THING = ["current", "key", "code", "number", "first", "second", "back"]; // hidden fields that tell two forms apart
const EACH_TIME = ["sure", "message"]; // a promise is given where it counts, and the inbox keeps its own ticks
const unsent = new Set();

const checkable = (field) => field.type === "checkbox" || field.type === "radio";
const standing = (field) => (checkable(field) ? (field.checked ? "yes" : "") : field.value);

function fromTheDesk(field) {
  if (checkable(field)) return field.defaultChecked ? "yes" : "";
  if (field.options) return ([...field.options].find((one) => one.defaultSelected) ?? field.options[0])?.value ?? "";
  return field.defaultValue;
}

const typable = (field) => field.name && field.matches("input, select, textarea") && !["hidden", "file", "password", "submit"].includes(field.type)
  && !EACH_TIME.includes(field.name) && !field.closest(".who-form");
const called = (field) => (checkable(field) ? `${field.name}=${field.value}` : field.name);

function ofForm(form) {
  const named = [...form.elements].filter((one) => one.type === "hidden" && OF_ONE_THING.includes(one.name));
  return [form.getAttribute("action"), ...named.map((one) => `${one.name}=${one.value}`)].join(" ");
}

/** Every field of the page's forms, with the words by which it is found again. */
function* fields() {
  for (const form of document.querySelectorAll("form[method=post]")) {
    for (const field of [...form.elements].filter(typable)) yield { form, field, key: `${ofForm(form)} ${called(field)}` };
  }
}

const origin = (field) => field.dataset.was ?? fromTheDesk(field);

/** What stands in forms that the desk does not have, and did not come from it. */
function typed() {
  return [...fields()].filter(({ form, field }) => unsent.has(form) && standing(field) !== origin(field))
    .map(({ field, key }) => ({ key, value: standing(field), was: origin(field) }));
}

let gone = []; // what was typed and has no field on the page: an answer took it off, or it waits for a name at the desk

addEventListener("pagehide", () => {
  const kept = [...gone, ...typed()];
  if (kept.length) sessionStorage.setItem(place(), JSON.stringify(kept));
});

/** The desk has nothing of what a form holds: it is kept, should the page be left or loaded again. */
export function keepIfLeft(form) {
  unsent.add(form);
}

document.addEventListener("input", (event) => {
  if (event.target.form) keepIfLeft(event.target.form);
});

/** The desk has what this form held. */
export function taken(form) {
  unsent.delete(form);
  gone = gone.filter(({ key }) => !key.startsWith(`${ofForm(form)} `));
}

/** An answer in the place of the page holds what was typed as its own words: what stood there first is noted beside each. */
export function carriedOver(replace) {
  const before = new Map([...fields()].map(({ field, key }) => [key, origin(field)]));
  const forms = new Set([...document.querySelectorAll("form[method=post]")].map(ofForm));
  gone.push(...typed());
  replace();
  for (const { form, field, key } of fields()) {
    const added = forms.has(ofForm(form)) && !checkable(field) && !field.options ? "" : fromTheDesk(field);
    field.dataset.was = before.get(key) ?? added;
    if (standing(field) !== field.dataset.was) unsent.add(form);
  }
  const here = new Set([...fields()].map(({ key }) => key));
  gone = gone.filter(({ key }) => !here.has(key));
}

function say(left, put) {
  const words = document.createElement("div");
  words.className = "done";
  words.setAttribute("role", "status");
  const add = (tag, ofIt) => words.appendChild(Object.assign(document.createElement(tag), ofIt));
  add("p", { textContent: `What you typed is ${put ? "here again" : "kept"}; nothing of it is recorded yet.` });
  if (!left.length) return words;
  add("p", { textContent: "This page has no field now for:" });
  for (const one of left) add("pre", { textContent: one.value });
  add("button", { type: "button", textContent: "These words are not needed" }).addEventListener("click", () => {
    gone = [];
    words.remove();
  });
  return words;
}

/** What somebody else wrote meanwhile into the field that holds typed words again: beside it, so that neither is lost. */
function sayNewer(field, was) {
  const now = fromTheDesk(field);
  if (was === undefined || now === was || now === standing(field)) return;
  const words = Object.assign(document.createElement("div"), { className: "done" });
  words.append(Object.assign(document.createElement("p"), { textContent: "Changed meanwhile; without your words it says:" }));
  words.append(Object.assign(document.createElement("pre"), { textContent: checkable(field) ? (now ? "ticked" : "not ticked") : now || "nothing", tabIndex: 0 }));
  (field.closest("p") ?? field).after(words);
}

/** Put back what was kept of this page; what has no field any more is shown. */
export function putBack() {
  const kept = JSON.parse(sessionStorage.getItem(place()) || "[]");
  sessionStorage.removeItem(place());
  if (!kept.length) return;
  const here = new Map([...fields()].map(({ form, field, key }) => [key, { form, field }]));
  for (const { key, value, was } of kept.filter((one) => here.has(one.key))) {
    const { form, field } = here.get(key);
    if (checkable(field)) field.checked = value === "yes";
    else field.value = value;
    sayNewer(field, was);
    field.closest("tr[hidden]")?.removeAttribute("hidden");
    for (let folded = field.closest("details"); folded; folded = folded.parentElement.closest("details")) folded.open = true;
    unsent.add(form);
  }
  const first = kept.find((one) => here.has(one.key));
  gone = kept.filter((one) => !here.has(one.key));
  const left = gone.filter((one) => one.value && one.value !== "yes");
  const shown = first && here.get(first.key);
  const beside = shown?.field.closest(".row, .setting, fieldset");
  if (beside) beside.before(say(left, true));
  else if (shown) shown.form.prepend(say(left, true));
  else if (left.length) document.getElementById("content").prepend(say(left, false));
}
