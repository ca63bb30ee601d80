// Figures that are made behind the page: how far they are; the page is loaded again when they stand.
const at = (id) => document.getElementById(id);

if (at("behind")) {
  const events = new EventSource("/sites/progress");
  events.onmessage = (event) => {
    const stand = JSON.parse(event.data);
    at("behind-words").textContent = stand.problem || (stand.total ? `${stand.what}, ${stand.done} of ${stand.total}` : stand.what);
    if (stand.total) Object.assign(at("behind-bar"), { max: stand.total, value: stand.done });
    if (stand.running) return;
    events.close();
    if (!stand.problem) location.reload();
  };
}

document.documentElement.dataset.ready = "yes";
