// What is being said of the sighting in hand: a name with its shades, or why there is none.

const QUALIFIERS = ["", "cf.", "aff."];
const SEXES = ["", "female", "male"];
const EMPTY = { taxon: "", rank: "", qualifier: "", sex: "", stage: "", behavior: "", remarks: "", second: false, cannot: "", other: "" };

export class Statement {
  constructor(kept = {}) {
    Object.assign(this, EMPTY, kept);
  }

  name(name) {
    Object.assign(this, { taxon: name.name, rank: name.rank, cannot: "", other: "", above: name.above });
  }

  noName() {
    Object.assign(this, { taxon: "", rank: "" });
  }

  option(kind, word) {
    if (kind === "cannot" || kind === "other") {
      Object.assign(this, { cannot: "", other: "", taxon: "", rank: "", [kind]: word });
    } else {
      this[kind] = this[kind] === word ? "" : word;
    }
  }

  next(kind) {
    const list = kind === "sex" ? SEXES : QUALIFIERS;
    this[kind] = list[(list.indexOf(this[kind]) + 1) % list.length];
  }

  said() {
    return Boolean(this.taxon || this.cannot || this.other);
  }

  /** As the desk takes it. */
  fields(sighting) {
    return {
      sighting, taxon: this.taxon, cannot_tell: this.cannot, not_an_adult: this.other, qualifier: this.taxon ? this.qualifier : "",
      sex: this.sex, life_stage: this.stage, behavior: this.behavior, remarks: this.remarks, second_opinion: this.second ? "yes" : "",
    };
  }

  /** As the page shows it: pieces of text, the name marked as such. */
  pieces() {
    const found = [];
    if (this.taxon) found.push({ text: [this.qualifier, this.taxon].filter(Boolean).join(" "), name: true });
    if (this.rank && this.rank !== "species") found.push({ text: `only to ${this.rank}` });
    if (this.cannot) found.push({ text: `Cannot be told: ${this.cannot}` });
    if (this.other) found.push({ text: `Not an adult: ${this.other}` });
    if (!this.taxon && this.qualifier) found.push({ text: this.qualifier });
    for (const word of [this.sex, this.stage, this.behavior, this.second ? "second opinion asked for" : "", this.remarks]) {
      if (word) found.push({ text: word });
    }
    return found;
  }
}
