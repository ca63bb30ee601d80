// The names that the typed letters may mean, as a list of which one key chooses one.

const SVG = "http://www.w3.org/2000/svg";
const YEAR = 366;

function dayOfYear(day) {
  const [year, month, date] = day.split("-").map(Number);
  return date ? Math.round((Date.UTC(2024, month - 1, date) - Date.UTC(2024, 0, 1)) / 86400000) + 1 : 0;
}

function shape(kind, attributes) {
  const made = document.createElementNS(SVG, kind);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  return made;
}

/** A year as a line, the adults' season on it, and a mark at the day of the photo. */
function seasonBar(season, day) {
  const svg = shape("svg", { viewBox: `0 0 ${YEAR} 40`, class: "season", preserveAspectRatio: "none", "aria-hidden": "true" });
  svg.append(shape("rect", { x: 0, y: 18, width: YEAR, height: 4, class: "year" }));
  const [first, last] = season;
  const spans = first <= last ? [[first, last]] : [[first, YEAR], [0, last]];
  for (const [from, to] of spans) svg.append(shape("rect", { x: from, y: 8, width: to - from, height: 24, class: "flies" }));
  if (day) svg.append(shape("rect", { x: day - 2, y: 0, width: 5, height: 40, class: "day" }));
  return svg;
}

function element(kind, text, className) {
  const made = document.createElement(kind);
  if (text) made.textContent = text;
  if (className) made.className = className;
  return made;
}

function line(name, index, day) {
  const item = element("li");
  item.id = `candidate-${index}`;
  item.setAttribute("role", "option");
  item.setAttribute("aria-selected", "false");
  item.dataset.index = index;
  const italic = ["genus", "species", "subspecies", "subgenus"].includes(name.rank);
  item.append(element("kbd", String(index + 1)), element("span", name.name, italic ? "taxon" : ""));
  if (name.vernaculars.length) item.append(element("span", name.vernaculars.join(", "), "note"));
  const notes = [];
  if (name.rank !== "species") notes.push(name.rank);
  if (name.inSeason === false) notes.push("outside its season");
  if (name.near) notes.push(`${name.near} exuviae nearby`);
  if (notes.length) item.append(element("span", notes.join(" · "), "note hints"));
  if (name.season) item.append(seasonBar(name.season, day));
  return item;
}

export class Candidates {
  constructor(list, field) {
    Object.assign(this, { list, field, names: [], at: -1 });
  }

  show(names, day) {
    this.names = names;
    this.at = -1;
    this.list.replaceChildren(...names.map((name, index) => line(name, index, dayOfYear(day))));
    this.list.hidden = !names.length;
    this.field.setAttribute("aria-expanded", String(Boolean(names.length)));
    this.field.removeAttribute("aria-activedescendant");
  }

  /** Choose by place; gives the name, or nothing if there is none there. */
  choose(index) {
    if (!this.names.length) return null;
    this.at = (index + this.names.length) % this.names.length;
    [...this.list.children].forEach((item, at) => item.setAttribute("aria-selected", String(at === this.at)));
    this.field.setAttribute("aria-activedescendant", `candidate-${this.at}`);
    this.list.children[this.at].scrollIntoView({ block: "nearest" });
    return this.names[this.at];
  }

  step(by) {
    return this.choose(this.at < 0 && by < 0 ? this.names.length - 1 : this.at + by);
  }
}
