// Determinations on their way to the desk: kept in the browser until the desk has them, or refuses them for good.
import { post, Refused } from "../desk.js";

const PLACE = "determinations on their way";

function read() {
  try {
    return (JSON.parse(localStorage.getItem(PLACE)) || []).map((one) => ({ key: one.sighting, ...one }));
  } catch {
    return [];
  }
}

function write(waiting) {
  localStorage.setItem(PLACE, JSON.stringify(waiting));
}

/** One is done with: it alone leaves, for another tab of this browser may have added or taken others. */
function remove(done) {
  write(read().filter((one) => one.key !== done.key));
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
    write([...read(), { ...statement, key: `${Date.now()} ${Math.random()}` }]);
    return this.send();
  }

  /** Send what waits, one after the other; resolves when nothing is left but what must wait for its person. */
  send() {
    this.sending ??= this.sendAll().finally(() => { this.sending = null; });
    return this.sending;
  }

  async sendAll() {
    const held = new Set(); // by their keys
    const next = () => read().find((one) => !held.has(one.key));
    for (let first = next(); first; first = next()) {
      try {
        this.told.recorded(first, await post("/determine/record", first));
      } catch (error) {
        if (!(error instanceof Refused)) throw error;
        this.told.refused(first, error.message, error.held);
        if (error.held) held.add(first.key);
      }
      if (!held.has(first.key)) remove(first);
    }
  }
}
