// A short list of words or pictures of which a digit chooses: why not, which view, which photos.

export class Panel {
  constructor(place, lists) {
    Object.assign(this, { place, lists: lists.content, chosen: null, several: false });
    place.addEventListener("click", (event) => {
      const button = event.target.closest("[data-word]");
      if (button) this.take(button);
    });
  }

  isOpen() {
    return !this.place.hidden;
  }

  open(kind, chosen) {
    const list = this.lists.querySelector(`[data-options="${kind}"]`);
    if (list) this.openWith(list.cloneNode(true), chosen);
  }

  openPage(page, chosen) {
    this.openWith(new DOMParser().parseFromString(page, "text/html").querySelector("fieldset"), chosen);
  }

  openPhotos(title, photos, chosen) {
    const list = document.createElement("fieldset");
    const legend = document.createElement("legend");
    legend.textContent = title;
    list.append(legend, ...photos.map(({ word, text, picture }, index) => {
      const button = Object.assign(document.createElement("button"), { type: "button", className: "pictured" });
      button.dataset.word = word;
      button.setAttribute("aria-pressed", "false");
      const key = Object.assign(document.createElement("kbd"), { textContent: String(index + 1) });
      button.append(key, ` ${text}`, Object.assign(document.createElement("img"), { src: picture, alt: text }));
      return button;
    }));
    this.openWith(list, chosen, true);
  }

  openWith(list, chosen, several = false) {
    Object.assign(this, { chosen, several });
    this.place.replaceChildren(list);
    this.place.hidden = false;
    this.place.scrollIntoView({ block: "nearest" });
  }

  close() {
    this.place.hidden = true;
    this.place.replaceChildren();
  }

  take(button) {
    if (this.several) {
      button.setAttribute("aria-pressed", String(button.getAttribute("aria-pressed") !== "true"));
      return;
    }
    const { chosen } = this;
    this.close();
    chosen(button.dataset.word);
  }

  /** True if the key was for the panel. */
  key(event) {
    if (!this.isOpen()) return false;
    const buttons = [...this.place.querySelectorAll("[data-word]")];
    if (event.key === "Escape") this.close();
    else if (/^[1-9]$/.test(event.key)) {
      if (buttons[Number(event.key) - 1]) this.take(buttons[Number(event.key) - 1]);
    } else if (event.key === "Enter" && this.several) {
      const words = buttons.filter((one) => one.getAttribute("aria-pressed") === "true").map((one) => one.dataset.word);
      const { chosen } = this;
      if (!words.length) return true;
      this.close();
      chosen(words);
    } else return false;
    return true;
  }
}
