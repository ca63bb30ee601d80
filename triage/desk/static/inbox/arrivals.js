// Files chosen or dropped onto the page: sent to the desk, received and examined with progress.
import { post, Refused, send } from "../desk.js";
import { showProgress } from "../progress.js";

const at = (id) => document.getElementById(id);

function say(text) {
  at("arrived").textContent = text;
}

function show(stand) {
  at("progress").hidden = !stand.running;
  showProgress(stand);
}

let events;

/** Follow the work; at its end show what came, if this page saw or started it. */
function watch(started) {
  let seen = started;
  events?.close();
  events = new EventSource("/arrivals/progress");
  events.onmessage = (event) => {
    const stand = JSON.parse(event.data);
    show(stand);
    seen ||= stand.running;
    if (stand.running) return;
    events.close();
    if (seen && stand.problem) say(stand.problem);
    else if (seen && stand.said.length) {
      sessionStorage.setItem("arrived", stand.said.join(" "));
      location.assign("/inbox/");
    }
  };
}

async function tryTo(act) {
  try {
    await act();
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    say(error.message);
  }
}

function bring(files) {
  if (!files.length) return undefined;
  const form = new FormData();
  for (const file of files) form.append("files", file, file.name);
  say(`Bringing in ${files.length} ${files.length === 1 ? "file" : "files"} …`);
  return tryTo(async () => {
    await send("/arrivals/drop", { method: "POST", body: form });
    say("");
    watch(true);
  });
}

/** Every file below a dropped folder. */
async function filesOf(entry) {
  if (entry.isFile) return [await new Promise((found, failed) => { entry.file(found, failed); })];
  const reader = entry.createReader();
  const found = [];
  for (;;) {
    const some = await new Promise((read, failed) => { reader.readEntries(read, failed); });
    if (!some.length) return found;
    for (const one of some) found.push(...(await filesOf(one)));
  }
}

async function dropped(event) {
  event.preventDefault();
  document.body.classList.remove("dropping");
  const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  const files = entries.length ? (await Promise.all(entries.map(filesOf))).flat() : [...event.dataTransfer.files];
  bring(files);
}

if (at("arrivals")) {
  for (const id of ["files", "folder"]) at(id).addEventListener("change", (event) => bring([...event.target.files]));
  document.addEventListener("dragover", (event) => { event.preventDefault(); document.body.classList.add("dropping"); });
  document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) document.body.classList.remove("dropping"); });
  document.addEventListener("drop", dropped);
  at("stop").addEventListener("click", () => tryTo(() => post("/arrivals/stop", {})));
  at("examine")?.addEventListener("click", () => tryTo(async () => { await post("/arrivals/examine", {}); watch(true); }));
  say(sessionStorage.getItem("arrived") || "");
  sessionStorage.removeItem("arrived");
  watch(false);
}
