// The answers of a packet: kept in this browser while it works, and saved as a table.

export const COLUMNS = {
  sighting: "sighting", taxon: "scientificName", qualifier: "identificationQualifier", sex: "sex", life_stage: "lifeStage", behavior: "behavior",
  remarks: "identificationRemarks", cannot_tell: "cannotTell", not_an_adult: "notAnAdult", second_opinion: "secondOpinion",
};
const shelf = document.getElementById("ahead");
const PLACE = `answers of packet ${shelf.dataset.packet}`;

function read() {
  try {
    return JSON.parse(localStorage.getItem(PLACE)) || [];
  } catch {
    return [];
  }
}

class Answers {
  constructor() {
    this.list = read();
    this.taken = []; // by number: what was taken back
  }

  keep() {
    let kept = !localStorage.forgets;
    try {
      localStorage.setItem(PLACE, JSON.stringify(this.list));
    } catch {
      kept = false; // there is no room left
    }
    document.getElementById("gone").hidden = kept;
  }

  sightings() {
    return this.list.map((one) => one.sighting);
  }

  add(statement) {
    this.list = [...this.list.filter((one) => one.sighting !== statement.sighting), statement];
    this.keep();
  }

  newest() {
    return this.list.at(-1);
  }

  /** Take the newest answer back; gives the number by which it can be brought back. */
  takeBack() {
    const one = this.list.at(-1);
    this.list = this.list.slice(0, -1);
    this.keep();
    return { one, number: this.taken.push(one) + 1000 };
  }

  bringBack(number) {
    const one = this.taken[number - 1001];
    if (one) this.add(one);
    return one;
  }

  /** As a table that the survey reads: commas, every cell in quotation marks. */
  table() {
    const cell = (text) => `"${String(text ?? "").replaceAll('"', '""')}"`;
    const rows = this.list.map((one) => Object.keys(COLUMNS).map((name) => cell(one[name])));
    return [Object.values(COLUMNS).map(cell), ...rows].map((row) => `${row.join(",")}\r\n`).join("");
  }
}

export const answers = new Answers();
export const NAME = `answers-packet-${shelf.dataset.packet}.csv`;
