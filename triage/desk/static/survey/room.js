// Long work of the survey: begun by a button, followed with progress, said when it has ended.
import { post, Refused } from "../desk.js";
import { showProgress } from "../progress.js";

const at = (id) => document.getElementById(id);
const KEPT = "said of the work";

function say(lines) {
  at("said").replaceChildren(...lines.map((line) => Object.assign(document.createElement("li"), { textContent: line })));
}

function show(stand) {
  at("progress").hidden = !stand.running;
  showProgress(stand);
  for (const button of document.querySelectorAll("[data-begin]")) button.disabled = stand.running;
}

/** Follow the work; when it ends under our eyes, load the page again and say what came of it. */
function watch(begun) {
  let seen = begun;
  const events = new EventSource("/arrivals/progress");
  events.onmessage = (event) => {
    const stand = JSON.parse(event.data);
    show(stand);
    seen ||= stand.running;
    if (stand.running) return;
    events.close();
    if (!seen) return;
    sessionStorage.setItem(KEPT, JSON.stringify(stand.problem ? [stand.problem] : stand.said));
    location.replace(location.pathname);
  };
}

async function tryTo(act) {
  try {
    await act();
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    say([error.message]);
  }
}

if (at("work")) {
  document.addEventListener("click", (event) => { // of what the page shows now, which may have come later
    const button = event.target.closest("[data-begin], #stop");
    if (!button) return;
    tryTo(async () => {
      if (button.id === "stop") return post("/arrivals/stop", {});
      const year = button.form?.elements.year?.value;
      await post("/survey/begin", { what: button.dataset.begin, ...(year === undefined ? {} : { year }) });
      say([]);
      return watch(true);
    });
  });
  const ended = JSON.parse(sessionStorage.getItem(KEPT) || "[]");
  sessionStorage.removeItem(KEPT);
  say(ended);
  if (ended.length) at("said").focus();
  watch(false);
}

document.documentElement.dataset.ready = "yes";
