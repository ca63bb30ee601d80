// Which names the typed letters may mean: in the order the desk gave for this season and place.
// The rule is that of triage/checklist/typed.py, which the command line uses; a test compares them.

// Letters that Unicode keeps whole, as triage/standards/letters.py has them.
const WHOLE_LETTERS = { ł: "l", ø: "o", đ: "d", ß: "ss", æ: "ae", œ: "oe", ı: "i", þ: "th", ð: "d", ħ: "h" };

/** Letters without accents, strokes, hyphens or case: what the hand types. */
export function plain(text) {
  const split = text.toLowerCase().normalize("NFKD").replace(/[łøđßæœıþðħ]/g, (one) => WHOLE_LETTERS[one]);
  return split.replace(/\p{M}/gu, "").replace(/[-'’.]/g, " ").replace(/\s+/g, " ").trim();
}

function labelsOf(name) {
  return [name.name, ...name.synonyms, ...name.vernaculars].map(plain).filter(Boolean);
}

/** Every word's beginning in order ("an imp"), one word's ("impe"), or both run together ("anim"). */
export function fits(wanted, label) {
  const words = label.split(" ");
  if (wanted.length > 1) {
    return wanted.length <= words.length && wanted.every((part, at) => words[at].startsWith(part));
  }
  const letters = wanted[0];
  if (words.some((word) => word.startsWith(letters))) return true;
  if (words.length < 2) return false;
  for (let cut = 1; cut < letters.length; cut += 1) {
    if (words[0].startsWith(letters.slice(0, cut)) && words[1].startsWith(letters.slice(cut))) return true;
  }
  return false;
}

export class Names {
  constructor(names) {
    this.names = names.map((name) => ({ ...name, labels: labelsOf(name) }));
    this.byName = new Map(this.names.map((name) => [name.name, name]));
  }

  /** At most nine names, each with its place in the given order. */
  matching(typed, order) {
    const meant = new Set(this.begunBy(typed));
    return order
      .filter((hint) => meant.has(this.names[hint.i]))
      .slice(0, 9)
      .map((hint) => ({ ...this.names[hint.i], inSeason: hint.season, near: hint.near }));
  }

  /** Every name that the letters may mean. */
  begunBy(typed) {
    const wanted = plain(typed).split(" ").filter(Boolean);
    return wanted.length ? this.names.filter((name) => name.labels.some((label) => fits(wanted, label))) : [];
  }

  /** The name that was typed whole, if one was, and no other taxon bears it. */
  exactly(typed) {
    const wanted = plain(typed);
    const bearers = this.names.filter((name) => name.labels.includes(wanted));
    return bearers.length > 1 ? bearers.find((name) => plain(name.name) === wanted) : bearers[0];
  }
}
