// The determiner's room: shows the sighting in hand, hears the keys, records and goes on.
import { post, Refused, send } from "../desk.js";
import { isChord } from "../typing.js";
import { Ahead } from "./ahead.js";
import { BoxDrawing } from "./box.js";
import { Candidates } from "./candidates.js";
import { Look } from "./look.js";
import { Names } from "./names.js";
import { Outbox } from "./outbox.js";
import { Panel } from "./panel.js";
import { Statement } from "./statement.js";

const UNSENT = "half typed"; // by sighting, in this tab
const LONGEST = 5000; // characters of remarks, as the desk takes them (opened.py)
const ONCE = ["record", "later", "undo", "redo", "two"]; // not again for a key that is held or a double click

const at = (id) => document.getElementById(id);

function halfTyped() {
  try {
    return JSON.parse(sessionStorage.getItem(UNSENT)) || {};
  } catch {
    return {};
  }
}

/** Keep what was half typed for a sighting, whether it is put off, left or loaded again; nothing once it is recorded. */
function keepTyped(sighting, kept) {
  const all = halfTyped();
  if (kept) all[sighting] = kept;
  else delete all[sighting];
  sessionStorage.setItem(UNSENT, JSON.stringify(all));
}

/** What was sent, as it was typed. */
function asTyped(fields, rank = "") {
  const said = {
    taxon: fields.taxon, rank, qualifier: fields.qualifier, sex: fields.sex, stage: fields.life_stage, behavior: fields.behavior, remarks: fields.remarks,
    second: fields.second_opinion === "yes", cannot: fields.cannot_tell, other: fields.not_an_adult,
  };
  return { typed: fields.taxon, said };
}

/** What was said of a sighting, in a word or two. */
function inWords(one) {
  return one.taxon ? [one.qualifier, one.taxon].filter(Boolean).join(" ") : one.cannot_tell || one.not_an_adult;
}

class Room {
  constructor() {
    this.place = at("room");
    this.field = at("name");
    this.names = new Names(JSON.parse(this.place.dataset.names));
    this.keys = JSON.parse(this.place.dataset.acts);
    this.candidates = new Candidates(at("candidates"), this.field);
    this.look = new Look(at("pictures"));
    this.panel = new Panel(at("panel"), at("option-lists"));
    this.box = new BoxDrawing();
    this.statement = new Statement();
    this.recordedHere = [];
    this.outbox = new Outbox({ recorded: (one, answer) => this.tell(one, answer), refused: (one, why, kept) => this.refused(one, why, kept) });
    this.ahead = new Ahead(at("ahead"), this.outbox);
    this.listen();
    this.outbox.send();
    this.goOn();
  }

  async goOn() {
    this.show(await this.ahead.next());
  }

  show(article) {
    this.article = article;
    this.place.dataset.sighting = article?.dataset.sighting ?? "";
    at("empty").hidden = Boolean(article);
    this.place.hidden = !article;
    if (!article) return;
    this.order = JSON.parse(article.dataset.order);
    this.frames = [...article.querySelectorAll(".pane")];
    at("pictures").replaceChildren(article.querySelector(".panes"), ...article.querySelectorAll(".photos"));
    at("facts").replaceChildren(article.querySelector(".facts"));
    this.shown = this.frames.length > 1 ? [0, 1] : [0];
    this.showFrames();
    this.restore();
    this.field.focus();
  }

  showFrames() {
    this.frames.forEach((frame, index) => { frame.hidden = !this.shown.includes(index); });
    this.shown.forEach((index, place) => { this.frames[index].dataset.place = place; });
    this.look.take(this.shown.map((index) => this.frames[index]));
    this.look.choose(this.look.active);
    for (const button of document.querySelectorAll("[data-show]")) {
      button.setAttribute("aria-pressed", String(this.shown.includes(Number(button.dataset.show))));
    }
  }

  /** Show another photo of this sighting in the active pane. */
  showFrame(index) {
    if (index >= this.frames.length || this.shown.includes(index)) return this.look.choose(this.shown.indexOf(index));
    this.shown[Math.max(this.look.active, 0)] = index;
    this.showFrames();
  }

  photo() {
    return this.look.chosen()?.figure.dataset.photo;
  }

  // ------------------------------------------------------------------ naming

  typed() {
    if (!this.article) return; // the next one is on its way
    this.statement.noName();
    this.candidates.show(this.names.matching(this.field.value, this.order), this.article.dataset.day);
    this.paint();
  }

  choose(name) {
    if (!name) return;
    this.statement.name(name);
    this.paint();
  }

  coarser() {
    const name = this.names.byName.get(this.statement.taxon);
    const above = name?.above.map((one) => this.names.byName.get(one)).find(Boolean);
    if (above) this.choose(above);
    else this.ask("Choose a name first; F2 then takes it to the genus.");
  }

  paint() {
    if (at("said").dataset.asks) this.hint(""); // it is being answered
    const pieces = this.statement.pieces().map(({ text, name }) => {
      const made = document.createElement(name ? "b" : "span");
      made.textContent = text;
      if (name) made.className = "taxon";
      return made;
    });
    at("statement").replaceChildren(...pieces.flatMap((piece, index) => (index ? [" · ", piece] : [piece])));
    this.keep();
  }

  keep() {
    if (!this.article) return;
    const { above, ...said } = this.statement;
    const some = this.field.value || Object.values(said).some(Boolean);
    keepTyped(this.article.dataset.sighting, some && { typed: this.field.value, said });
  }

  /** What was half typed for this sighting before it went from the page. */
  restore() {
    const kept = halfTyped()[this.article.dataset.sighting];
    this.statement = new Statement(kept?.said);
    this.field.value = kept?.typed ?? "";
    at("remarks").value = this.statement.remarks;
    at("remarks-line").hidden = !this.statement.remarks;
    this.panel.close();
    this.candidates.show(this.names.matching(this.field.value, this.order), this.article.dataset.day);
    this.paint();
  }

  record() {
    if (!this.article) return;
    if (!this.statement.said()) {
      const whole = this.names.exactly(this.field.value);
      if (!whole) return this.ask(this.field.value ? (this.candidates.names.length ? "Choose a name: its digit, or the down arrow." : "No name on the checklist is written so: try its first letters, with doubt (F3) and sex (F4) by their keys, or say why there is none (F9, !).") : "Type four letters of a name, or say why there is none (F9, !).");
      this.choose(whole);
    }
    const { length } = this.statement.remarks;
    if (length > LONGEST) return this.ask(`The remarks have ${length.toLocaleString("en")} characters, and ${LONGEST.toLocaleString("en")} are recorded at most: shorten them (:).`);
    const fields = { ...this.statement.fields(this.article.dataset.sighting), by: this.place.dataset.person };
    keepTyped(this.article.dataset.sighting, null);
    this.article = null;
    this.ahead.current = null;
    this.outbox.add(fields);
    this.recordedHere.push(fields);
    this.count(-1);
    this.hint("");
    this.goOn();
  }

  /** One fewer waits, or one more again. */
  count(by) {
    const left = Math.max(Number(at("waiting").dataset.count) + by, 0);
    at("waiting").dataset.count = left;
    at("waiting").firstElementChild.textContent = `${left} ${left === 1 ? "sighting" : "sightings"} waiting`;
  }

  later() {
    this.ahead.putOff();
    this.article = null;
    this.hint("Put off: it comes again when nothing else waits.");
    this.goOn();
  }

  /** The sighting in hand back into one piece. */
  pack() {
    this.article.append(...at("pictures").children, ...at("facts").children);
    return this.article;
  }

  // ------------------------------------------------------------------ telling

  hint(text) {
    at("said").textContent = text;
    at("said").dataset.asks = "";
  }

  /** Say what is missing, until something is done about it. */
  ask(text) {
    this.hint(text);
    at("said").dataset.asks = "yes";
  }

  tell(one, answer) {
    const others = answer.others.map((other) => `${other.by}: ${other.what}${other.remarks ? ` (${other.remarks})` : ""}`);
    const stands = answer.stands === "determined" ? "" : ` It stands as: ${answer.stands}${answer.reason ? `, ${answer.reason}` : ""}.`;
    const before = answer.before ? ` It replaces what you said of it before: ${answer.before}.` : "";
    this.hint(`Recorded: ${inWords(one)}.${before}${stands}${others.length ? ` Others said: ${others.join("; ")}.` : ""}`);
  }

  refused(one, why, kept) {
    this.recordedHere = this.recordedHere.filter((other) => other.sighting !== one.sighting);
    if (!kept) keepTyped(one.sighting, asTyped(one, this.names.byName.get(one.taxon)?.rank)); // there again when it comes again
    this.hint(`Not recorded${kept ? " yet" : ""}: ${inWords(one)}${one.remarks ? ` (${one.remarks})` : ""}. ${why}`);
  }

  // ------------------------------------------------------------------ mending

  async undo() {
    await this.outbox.send();
    const last = await (await send("/determine/mine")).json();
    if (!last.number) return this.hint("There is nothing of yours to take back.");
    const taken = await post("/determine/undo", { number: last.number });
    this.undone = this.recordedHere.pop();
    this.takenBack = taken.number;
    this.count(1);
    this.hint(`Took back: ${taken.summary}. The key > brings it back.`);
    if (!this.undone) return this.reload();
    const again = await this.ahead.again(this.undone.sighting, { keep: true });
    if (this.article) this.pack();
    this.show(again);
    this.say(this.undone);
  }

  /** Bring back what was taken back last; the sighting in hand is recorded again then. */
  async redo() {
    if (!this.takenBack) return this.hint("Nothing was taken back on this page.");
    const again = await post("/determine/undo", { number: this.takenBack });
    this.takenBack = 0;
    this.count(-1);
    this.hint(`Brought back: ${again.summary.replace(/^took back: /, "")}.`);
    const same = this.undone?.sighting === this.article?.dataset.sighting;
    if (this.undone) {
      this.recordedHere.push(this.undone);
      keepTyped(this.undone.sighting, null);
    }
    this.undone = null;
    if (!same) return undefined;
    this.article = null;
    this.ahead.current = null;
    return this.goOn();
  }

  /** Put a statement into the fields as if it had just been typed. */
  say(fields) {
    keepTyped(fields.sighting, asTyped(fields, this.names.byName.get(fields.taxon)?.rank));
    this.restore();
  }

  mend(path, fields, told) {
    return this.tryTo(async () => {
      const done = await post(path, fields);
      await this.reload(done.rest || done.own);
      this.hint(done.moved ? `${told} But ${done.moved}: ` : told);
      if (done.moved && done.rest && done.own) this.offer("Show it", () => this.goTo(done.own));
      if (done.moved) this.offer("Take back", () => this.act("undo"), "<");
    });
  }

  /** A button behind what was said. */
  offer(words, act, key = "") {
    const button = document.createElement("button");
    button.type = "button";
    button.append(words, key && Object.assign(document.createElement("kbd"), { textContent: key }));
    button.addEventListener("click", () => this.tryTo(act));
    at("said").append(button, " ");
  }

  /** Another sighting now; the one in hand comes after it. */
  async goTo(identifier) {
    this.pack();
    this.show(await this.ahead.again(identifier, { keep: true }));
  }

  async reload(instead = "") {
    const identifier = instead || this.article?.dataset.sighting;
    try {
      this.show(identifier ? await this.ahead.again(identifier) : await this.ahead.next());
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      this.ahead.current = null; // the sighting is another now: it comes anew from the queue
      this.ahead.shelf.replaceChildren();
      await this.goOn();
    }
  }

  async askWhich(kind) {
    const { sighting } = this.article.dataset;
    const own = this.frames.map((frame, index) => ({
      word: frame.dataset.photo, text: `photo ${index + 1}`, alt: frame.querySelector("img").alt, sources: [frame.querySelector("img").src],
    }));
    return kind === "merge" ? this.askMerge(sighting, own) : this.askSplit(sighting, own);
  }

  askSplit(sighting, own) {
    if (own.length < 2) return this.hint("This sighting has one photo only: there is nothing to split off.");
    return this.panel.openSorting({
      title: "Which photos show another animal?", note: "A digit or a click moves a photo to the other animal, and back.",
      heaps: ["This animal keeps", "The other animal gets"], items: own, most: own.length - 1, end: "Two animals",
    }, (chosen) => this.mend("/determine/split", [["sighting", sighting], ...chosen.map((photo) => ["photo", photo])], "Split: the other animal has its own place in the queue."));
  }

  async askMerge(sighting, own) {
    const others = await (await send(`/determine/neighbours/${encodeURIComponent(sighting)}`)).json();
    if (!others.length) return this.hint("No other sighting of this observer and day is known: there is nothing to join.");
    return this.panel.openSorting({
      title: "Which of these shows the same animal?", note: "A digit or a click adds a sighting to this animal, and takes it away again.",
      heaps: ["This animal", "Other sightings of the same observer and day"], fixed: own, items: others, most: others.length, end: "One animal",
    }, (chosen) => this.mend("/determine/merge", [sighting, ...chosen].map((one) => ["sighting", one]), "One animal now; its photos are together."));
  }

  async toBlind() {
    if (this.place.dataset.blindRequired) return this.hint("This survey asks for blind determinations.");
    await post("/determine/blind", { blind: this.place.dataset.blind ? "" : "yes" });
    location.reload();
  }

  drawBox() {
    const pane = this.look.chosen();
    if (pane) this.box.start(pane, (value) => this.mend("/determine/correct", { photo: this.photo(), field: "box", value }, "The box was corrected and the photo measured anew."));
    this.hint("Draw the box with the mouse; or arrows move it, Shift and arrows size it, Enter keeps it, Esc leaves it.");
  }

  act(name) {
    if (this.place.dataset.without.split(" ").includes(name)) return this.hint("That is done on the desk: write it into the remarks (:).");
    if (name === "record") return this.record();
    if (name === "undo" || name === "redo") return this.inTurn(() => this[name]());
    if (!this.article) return undefined;
    if (this.look.act(name)) return this.look.choose(this.look.active);
    const acts = {
      later: () => this.later(), coarser: () => this.coarser(), second: () => { this.statement.second = !this.statement.second; this.paint(); },
      qualifier: () => { this.statement.next("qualifier"); this.paint(); }, sex: () => { this.statement.next("sex"); this.paint(); },
      remarks: () => { at("remarks-line").hidden = false; at("remarks").focus(); },
      two: () => this.mend("/determine/two", { photo: this.photo() }, "Another animal of this photo has its own place in the queue."),
      split: () => this.askWhich("split"), merge: () => this.askWhich("merge"), box: () => this.drawBox(), blind: () => this.toBlind(),
      view: () => this.panel.open("view", (word) => this.mend("/determine/correct", { photo: this.photo(), field: "view", value: word }, "The view was corrected.")),
    };
    if (acts[name]) return acts[name]();
    this.paint();
    return this.panel.open(name, (word) => { this.statement.option(name, word); this.paint(); });
  }

  // ------------------------------------------------------------------ keys

  key(event) {
    if (isChord(event) || document.querySelector("dialog[open]")) return;
    if (event.target === at("remarks")) return this.remarksKey(event);
    if (this.box.key(event)) return event.preventDefault();
    if (this.panel.key(event)) {
      if (!this.panel.isOpen()) this.field.focus();
      return event.preventDefault();
    }
    if (this.move(event)) return event.preventDefault();
    if (Object.hasOwn(this.keys, event.key)) {
      event.preventDefault();
      if (event.repeat && ONCE.includes(this.keys[event.key])) return undefined;
      return this.tryTo(() => this.act(this.keys[event.key]));
    }
    if (/^[\p{L}]$/u.test(event.key) && event.target !== this.field) this.field.focus();
    return undefined;
  }

  /** Digits, arrows, Enter and Escape; true if the key was one of them. */
  move(event) {
    const onField = event.target === this.field || event.target === document.body || at("pictures").contains(event.target);
    if (/^[0-9]$/.test(event.key)) {
      const index = Number(event.key) - 1;
      if (this.field.value) this.choose(index < this.candidates.names.length ? this.candidates.choose(index) : null);
      else if (index >= 0) this.showFrame(index);
      return true;
    }
    if (event.key === "Escape") {
      this.field.value = "";
      Object.assign(this.statement, { qualifier: "", cannot: "", other: "" });
      this.typed();
      return true;
    }
    if (event.key === "Enter" && onField) {
      if (!event.repeat) this.record();
      return true;
    }
    if (!event.key.startsWith("Arrow") || !onField) return false;
    if (event.shiftKey) this.look.arrow(event.key);
    else if (event.key === "ArrowDown" || event.key === "ArrowUp") this.choose(this.candidates.step(event.key === "ArrowDown" ? 1 : -1));
    else this.look.choose(this.look.active + (event.key === "ArrowRight" ? 1 : -1));
    return true;
  }

  remarksKey(event) {
    if (event.key !== "Enter" && event.key !== "Escape") return;
    event.preventDefault();
    this.field.focus();
  }

  /** Taking back and bringing back wait for each other, however fast the keys come. */
  inTurn(act) {
    this.before = (this.before ?? Promise.resolve()).then(() => this.tryTo(act));
    return this.before;
  }

  async tryTo(act) {
    try {
      await act();
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      this.hint(error.message);
    }
  }

  listen() {
    document.addEventListener("keydown", (event) => this.key(event));
    this.field.addEventListener("input", () => this.typed());
    at("remarks").addEventListener("input", () => { this.statement.remarks = at("remarks").value; this.paint(); });
    at("candidates").addEventListener("click", (event) => {
      const item = event.target.closest("[data-index]");
      if (item) this.choose(this.candidates.choose(Number(item.dataset.index)));
      this.field.focus();
    });
    document.addEventListener("click", (event) => {
      const button = event.target.closest("[data-act], [data-show]");
      if (event.target.closest("[data-end]")) this.field.focus();
      if (!button || (event.detail > 1 && ONCE.includes(button.dataset.act))) return;
      if (button.dataset.act) this.tryTo(() => this.act(button.dataset.act));
      else this.showFrame(Number(button.dataset.show));
      if (!this.panel.isOpen() && button.dataset.act !== "remarks") this.field.focus();
    });
    window.addEventListener("resize", () => this.look.resized());
  }
}

if (at("room")) new Room();

document.documentElement.dataset.ready = "yes";
