// How far long work has come, in words and as a bar: a screen reader is told of each stage, not of each photo.
const at = (id) => document.getElementById(id);

export function showProgress(stand) {
  const what = stand.problem || stand.what;
  if (at("progress-words").textContent !== what) at("progress-words").textContent = what;
  const count = stand.total ? `, ${stand.done} of ${stand.total}` : `, ${stand.done}`;
  at("progress-count").textContent = stand.done || stand.total ? count : "";
  if (stand.total) Object.assign(at("bar"), { max: stand.total, value: stand.done });
  else at("bar").removeAttribute("value");
}
