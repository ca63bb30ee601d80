// Figures that are made behind the page: how far they are; the page is loaded again when they stand.
import { showProgress } from "../progress.js";

if (document.getElementById("behind")) {
  const events = new EventSource("/sites/progress");
  events.onmessage = (event) => {
    const stand = JSON.parse(event.data);
    showProgress(stand);
    if (stand.running) return;
    events.close();
    if (!stand.problem) location.reload();
  };
}

document.documentElement.dataset.ready = "yes";
