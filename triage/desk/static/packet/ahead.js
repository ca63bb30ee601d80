// The sightings of a packet: all of them lie in the page, those without an answer come in order.
import { answers } from "./answers.js";

export class Ahead {
  constructor(place) {
    this.pages = new Map([...place.children].map((page) => [page.dataset.sighting, page]));
    place.replaceChildren();
    const answered = new Set(answers.sightings());
    this.queue = [...this.pages.keys()].filter((one) => !answered.has(one));
    this.current = null;
    const waiting = document.getElementById("waiting");
    waiting.dataset.count = this.queue.length;
    waiting.firstElementChild.textContent = `${this.queue.length} ${this.queue.length === 1 ? "sighting" : "sightings"} waiting`;
    this.shelf = {
      append: (page) => this.queue.push(page.dataset.sighting),
      prepend: (page) => this.queue.unshift(page.dataset.sighting),
      replaceChildren: () => {},
    };
  }

  take(identifier) {
    this.queue = this.queue.filter((one) => one !== identifier);
    this.current = this.pages.get(identifier)?.cloneNode(true) ?? null;
    return this.current;
  }

  /** Put the one in hand off, behind all others. */
  putOff() {
    this.queue.push(this.current.dataset.sighting);
    this.current = null;
  }

  async next() {
    return this.take(this.queue[0]);
  }

  async again(identifier, { keep = false } = {}) {
    if (keep && this.current) this.queue.unshift(this.current.dataset.sighting);
    return this.take(identifier);
  }
}
