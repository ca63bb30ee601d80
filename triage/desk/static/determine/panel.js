// A short list of which a digit chooses: why not, which view; or photos sorted to one animal or two.

function element(kind, text, attributes = {}) {
  const made = Object.assign(document.createElement(kind), attributes);
  made.append(text);
  return made;
}

function pictures(made, { text, alt = text, sources }) {
  made.append(...sources.map((src) => Object.assign(document.createElement("img"), { src, alt })));
  return made;
}

/** One thing to sort: a button with its digit and pictures. */
function sorted(item, index) {
  const button = element("button", "", { type: "button" });
  button.dataset.word = item.word;
  button.setAttribute("aria-pressed", "false");
  button.append(element("kbd", String(index + 1)), ` ${item.text}`);
  return pictures(button, item);
}

export class Panel {
  constructor(place, lists) {
    Object.assign(this, { place, lists: lists.content, chosen: null, most: 0, buttons: [] });
    place.addEventListener("click", (event) => {
      const button = event.target.closest("[data-word], [data-end]");
      if (button?.dataset.end) this.end(button.dataset.end);
      else if (button) this.take(button);
    });
  }

  isOpen() {
    return !this.place.hidden;
  }

  open(kind, chosen) {
    const list = this.lists.querySelector(`[data-options="${kind}"]`);
    if (list) this.openWith(list.cloneNode(true), chosen);
  }

  /** Two heaps, as it is and as it will be: a digit moves a thing to the other heap and back. */
  openSorting({ title, note, heaps, fixed = [], items, most, end }, chosen) {
    const list = document.createElement("fieldset");
    const [here, there] = heaps.map((heap) => element("div", "", { className: "shown", ariaLabel: heap }));
    here.setAttribute("role", "group");
    there.setAttribute("role", "group");
    here.append(...fixed.map((one) => pictures(element("figure", one.text), one)));
    const start = fixed.length ? there : here;
    start.append(...items.map(sorted));
    const ends = [element("button", `${end} `, { type: "button", className: "first" }), element("button", "Leave it ", { type: "button" })];
    ends[0].append(element("kbd", "Enter"));
    ends[1].append(element("kbd", "Esc"));
    ends[0].dataset.end = "keep";
    ends[1].dataset.end = "leave";
    list.append(element("h2", title), element("p", note, { className: "note" }), element("h3", heaps[0]), here, element("h3", heaps[1]), there, element("p", ends[0]));
    list.lastChild.append(" ", ends[1]);
    list.setAttribute("aria-label", title);
    this.openWith(list, chosen, most);
    this.buttons[0]?.focus();
  }

  openWith(list, chosen, most = 0) {
    Object.assign(this, { chosen, most });
    this.place.replaceChildren(list);
    this.place.hidden = false;
    this.place.classList.toggle("wide", most > 0);
    this.buttons = [...list.querySelectorAll("[data-word]")];
    this.place.scrollIntoView({ block: "nearest" });
  }

  close() {
    this.place.hidden = true;
    this.place.replaceChildren();
  }

  take(button) {
    if (this.most) return this.move(button);
    const { chosen } = this;
    this.close();
    return chosen(button.dataset.word);
  }

  move(button) {
    const other = [...this.place.querySelectorAll(".shown")].find((heap) => heap !== button.parentElement);
    button.setAttribute("aria-pressed", String(button.getAttribute("aria-pressed") !== "true"));
    other.append(button);
    button.focus();
  }

  /** Keep what was sorted, if something was and something is left. */
  end(how) {
    const words = this.buttons.filter((one) => one.getAttribute("aria-pressed") === "true").map((one) => one.dataset.word);
    if (how === "keep" && (!words.length || words.length > this.most)) return;
    const { chosen } = this;
    this.close();
    if (how === "keep") chosen(words);
  }

  /** True if the key was for the panel. */
  key(event) {
    if (!this.isOpen()) return false;
    if (event.key === "Escape") this.close();
    else if (/^[1-9]$/.test(event.key)) {
      if (this.buttons[Number(event.key) - 1]) this.take(this.buttons[Number(event.key) - 1]);
    } else if (event.key === "Enter" && this.most && !event.target.dataset?.end) this.end("keep");
    else return false;
    return true;
  }
}
