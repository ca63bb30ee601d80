// The answers become a file: by the button, or by its key.
import { answers, NAME } from "./answers.js";
import { isTyping } from "../typing.js";

const MARK = "\uFEFF"; // tells a spreadsheet that the letters are UTF-8

function save() {
  const file = URL.createObjectURL(new Blob([MARK + answers.table()], { type: "text/csv" }));
  const link = Object.assign(document.createElement("a"), { href: file, download: NAME });
  link.click();
  setTimeout(() => URL.revokeObjectURL(file), 60000);
  const { length } = answers.list;
  document.getElementById("said").textContent = `${length} ${length === 1 ? "answer" : "answers"} saved as ${NAME}: send that file back.`;
}

document.getElementById("save").addEventListener("click", save);
document.getElementById("save-all").addEventListener("click", save);
document.addEventListener("keydown", (event) => {
  if (event.key !== "+" || event.ctrlKey || event.altKey || event.metaKey || isTyping(event.target)) return;
  event.preventDefault();
  save();
});
answers.keep();
