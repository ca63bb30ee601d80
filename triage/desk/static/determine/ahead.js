// The sightings in hand: the one on the page, and the next three with their pictures loaded.
import { send } from "../desk.js";

const AHEAD = 3;
const LATER = `put off by ${document.getElementById("room")?.dataset.person}`; // in this tab, until it is closed

export class Ahead {
  constructor(shelf, outbox) {
    Object.assign(this, { shelf, outbox, current: null, wanted: "", filling: null, later: JSON.parse(sessionStorage.getItem(LATER) ?? "[]") });
    [...shelf.children].filter((one) => this.later.includes(one.dataset.sighting)).forEach((one) => one.remove());
  }

  /** The next sighting, which is then the current one; nothing if none waits. */
  async next() {
    if (!this.shelf.children.length) await this.fill();
    this.current = this.shelf.firstElementChild;
    this.current?.remove();
    this.fill();
    return this.current;
  }

  /** Put the one in hand off: it comes again when nothing else waits. */
  putOff() {
    this.later.push(this.current.dataset.sighting);
    sessionStorage.setItem(LATER, JSON.stringify(this.later));
    this.current = null;
  }

  have() {
    const held = [this.current, ...this.shelf.children].filter(Boolean).map((one) => one.dataset.sighting);
    return [...new Set([...held, this.wanted, ...this.outbox.sightings()].filter(Boolean))];
  }

  fill() {
    this.filling ??= this.fillUp().finally(() => { this.filling = null; });
    return this.filling;
  }

  async fillUp() {
    while (this.shelf.children.length < AHEAD) {
      const asked = [...this.have().map((one) => ["have", one]), ...this.later.map((one) => ["later", one])];
      const found = await this.fetch(`/determine/next?${new URLSearchParams(asked)}`);
      if (!found) return;
      if (!this.have().includes(found.dataset.sighting)) this.shelf.append(found); // it came another way meanwhile
    }
  }

  async fetch(path) {
    const answer = await send(path);
    if (answer.status === 204) return null;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    return document.adoptNode(page.querySelector("article"));
  }

  /** One sighting again, as it stands now; the one in hand goes back to the head of the shelf. */
  async again(identifier, { keep = false } = {}) {
    this.wanted = identifier; // so that nobody hands it out a second time meanwhile
    try {
      const found = await this.fetch(`/determine/sighting/${encodeURIComponent(identifier)}`);
      if (keep && this.current) this.shelf.prepend(this.current);
      this.current = found;
      return found;
    } finally {
      this.wanted = "";
    }
  }
}
