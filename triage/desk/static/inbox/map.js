// A small map of sites: wheel and buttons zoom, dragging moves, a click chooses.

import { spread, tellNumbers } from "../map_names.js";

const STEP = 1.3;
const LETTERS = 12; // pixels, of names on the map

export class SiteMap {
  constructor(svg, chosen, pointed) {
    Object.assign(this, { svg, chosen, pointed, x: 0, y: 0, half: Number(svg.dataset.half), scale: 1 });
    svg.addEventListener("wheel", (event) => { event.preventDefault(); this.zoom(event.deltaY < 0 ? STEP : 1 / STEP); }, { passive: false });
    svg.addEventListener("pointerdown", (event) => { this.held = event; this.moved = false; });
    svg.addEventListener("pointermove", (event) => this.drag(event));
    svg.addEventListener("pointerup", () => { this.held = null; });
    svg.addEventListener("pointerleave", () => { this.held = null; });
    svg.addEventListener("click", (event) => { if (!this.moved) this.clicked(event); });
    svg.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      this.choose(event.target.closest("[data-site]"));
    });
    for (const button of document.querySelectorAll("[data-map]")) {
      button.addEventListener("click", () => this.zoom(button.dataset.map === "closer" ? STEP : 1 / STEP));
    }
    this.paint();
  }

  choose(site) {
    if (!site) return;
    for (const other of this.svg.querySelectorAll(".chosen")) other.classList.remove("chosen");
    site.classList.add("chosen");
    this.chosen(site.dataset.site);
  }

  /** A site is chosen; any other point is told in degrees. */
  clicked(event) {
    const site = event.target.closest("[data-site]");
    if (site) return this.choose(site);
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    const { latitude, longitude } = this.svg.dataset;
    const perDegree = 111320; // metres of latitude, as the map was drawn
    const east = at.x / (perDegree * Math.cos((latitude * Math.PI) / 180));
    return this.pointed(Number(latitude) - at.y / perDegree, Number(longitude) + east, at);
  }

  /** Mark the point of a new site. */
  mark({ x, y }) {
    const found = this.svg.querySelector(".new-point") || this.svg.appendChild(document.createElementNS("http://www.w3.org/2000/svg", "circle"));
    for (const [name, value] of Object.entries({ class: "new-point dot", cx: x, cy: y, r: this.half / this.scale / 45 })) found.setAttribute(name, value);
  }

  zoom(factor) {
    this.scale = Math.min(Math.max(this.scale * factor, 0.1), 40);
    this.paint();
  }

  drag(event) {
    if (!this.held) return;
    const metres = (2 * this.half) / this.scale / this.svg.getBoundingClientRect().width;
    const [dx, dy] = [event.clientX - this.held.clientX, event.clientY - this.held.clientY];
    if (Math.abs(dx) + Math.abs(dy) < 3 && !this.moved) return;
    this.moved = true;
    this.x -= dx * metres;
    this.y -= dy * metres;
    this.held = event;
    this.paint();
  }

  /** Each name where it lies on no other; a number where there is no room, told below the map. */
  names() {
    const unit = (2 * this.half) / this.scale / (this.svg.clientWidth || 1);
    const edge = { x: this.svg.clientWidth / 2, y: this.svg.clientHeight / 2 };
    const texts = [...this.svg.querySelectorAll(".site text")];
    const points = texts.map((text) => {
      const dot = text.parentElement.querySelector(".dot");
      text.textContent = text.parentElement.dataset.site;
      text.setAttribute("font-size", LETTERS * unit);
      return { x: (dot.getAttribute("cx") - this.x) / unit, y: (dot.getAttribute("cy") - this.y) / unit, wide: text.getComputedTextLength() / unit };
    });
    const numbered = [];
    spread(points, LETTERS, edge).forEach((found, index) => {
      const text = texts[index];
      text.classList.toggle("nameless", !found);
      const { middle, foot } = found || { middle: points[index].x, foot: points[index].y - 9 };
      if (found?.number) {
        numbered.push([found.number, text.textContent]);
        text.textContent = found.number;
      }
      text.setAttribute("x", this.x + middle * unit);
      text.setAttribute("y", this.y + foot * unit);
    });
    tellNumbers(document.getElementById("numbered"), numbered);
  }

  paint() {
    const half = this.half / this.scale;
    this.svg.setAttribute("viewBox", `${this.x - half} ${this.y - half} ${2 * half} ${2 * half}`);
    for (const dot of this.svg.querySelectorAll(".dot")) dot.setAttribute("r", half / 45);
    this.names();
    for (const bar of this.svg.querySelectorAll(".bar, .bar-words")) bar.toggleAttribute("hidden", this.scale !== 1 || this.x !== 0 || this.y !== 0);
  }
}
