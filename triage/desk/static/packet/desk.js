// What a desk would answer, answered by the page itself: taking back, and bringing back.
import { answers } from "./answers.js";

export class Refused extends Error {}

function words(one) {
  return [one.qualifier, one.taxon || one.cannot_tell || one.not_an_adult].filter(Boolean).join(" ");
}

/** Ask for what would be taken back. */
export async function send(path) {
  if (path !== "/determine/mine") throw new Refused("That is done on the desk: write it into the remarks (:).");
  const one = answers.newest();
  return { json: async () => ({ number: one ? 1 : 0, summary: one ? words(one) : "" }) };
}

export async function post(path, fields) {
  if (path !== "/determine/undo") throw new Refused("That is done on the desk: write it into the remarks (:).");
  if (fields.number > 1000) {
    const back = answers.bringBack(fields.number);
    return { number: 1, summary: words(back), holds: true };
  }
  const { one, number } = answers.takeBack();
  return { number, summary: words(one), holds: false };
}
