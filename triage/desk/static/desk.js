// Requests to the desk, with this page's token; when it does not answer, the page says so and waits.
const notice = document.getElementById("gone");
let token = document.querySelector("meta[name='desk-token']").content;
const PAUSE = 1500; // milliseconds between two tries
const PATIENCE = 30000; // milliseconds for an answer; files may take their time

/** The desk will not do it; "held" is true where it would for somebody else, or for the page loaded again. */
export class Refused extends Error {
  constructor(words, status) {
    super(words);
    this.status = status;
    this.held = status === 403 || status === 409;
  }
}

function show(gone) {
  notice.hidden = !gone;
}

/** The browser has forgotten this page's token, or another page has a newer one: whether it is another now. */
async function renewed() {
  const answer = await fetch("/token", { credentials: "same-origin", headers: { Accept: "application/json" } });
  const before = token;
  if (answer.ok) ({ token } = await answer.json());
  return token !== before;
}

async function once(path, options) {
  const headers = { "X-Desk-Token": token, Accept: "application/json, text/html", ...options.headers };
  const signal = options.body instanceof FormData ? undefined : AbortSignal.timeout(PATIENCE);
  const answer = await fetch(path, { ...options, headers, signal, credentials: "same-origin" });
  if (answer.status === 503) throw new Error("not now"); // a full disk, another command at work
  show(false);
  const page = answer.status === 422 && answer.headers.get("Content-Type")?.startsWith("text/html"); // with what is wrong
  if (answer.status === 204 || page || (answer.ok && options.method)) return answer;
  if (answer.ok) return new Response(await answer.blob(), answer); // whole: one that breaks off is asked for again
  const told = await answer.json().catch(() => ({ what: "the desk could not do that", failing: path, next_step: "Load the page again." }));
  throw new Refused(`${told.failing}: ${told.what}. ${told.next_step}`, answer.status);
}

/** Ask until there is an answer; a refusal with its sentence is thrown. */
export async function send(path, options = {}) {
  for (let old = true; ;) {
    try {
      return await once(path, options);
    } catch (error) {
      if (error.status === 403 && old && await renewed()) {
        old = false;
        continue;
      }
      if (error instanceof Refused) throw error;
      show(true);
      await new Promise((done) => setTimeout(done, PAUSE));
    }
  }
}

/** Send fields as a form would, and give the answer's JSON. */
export async function post(path, fields) {
  const answer = await send(path, { method: "POST", body: new URLSearchParams(fields) });
  return answer.status === 204 ? null : answer.json();
}
