// Determinations on their way to the desk: kept in the browser until the desk has them.
import { post, Refused } from "../desk.js";

const PLACE = "determinations on their way";

function read() {
  try {
    return JSON.parse(localStorage.getItem(PLACE)) || [];
  } catch {
    return [];
  }
}

function write(waiting) {
  localStorage.setItem(PLACE, JSON.stringify(waiting));
}

export class Outbox {
  constructor({ recorded, refused }) {
    this.told = { recorded, refused };
    this.sending = null;
  }

  /** Sightings whose determinations the desk does not have yet. */
  sightings() {
    return read().map((one) => one.sighting);
  }

  add(statement) {
    write([...read(), statement]);
    return this.send();
  }

  /** Send what waits, one after the other; resolves when nothing is left. */
  send() {
    this.sending ??= this.sendAll().finally(() => { this.sending = null; });
    return this.sending;
  }

  async sendAll() {
    for (let first = read()[0]; first; first = read()[0]) {
      try {
        this.told.recorded(first, await post("/determine/record", first));
      } catch (error) {
        if (!(error instanceof Refused)) throw error;
        this.told.refused(first, error.message);
      }
      write(read().slice(1));
    }
  }
}
