// The map of sites: moved and zoomed, filtered by season; a site chosen on it opens beside it.
import { Refused, send } from "../desk.js";
import { spread, tellNumbers } from "../map_names.js";

const at = (id) => document.getElementById(id);
const svg = at("ground");
const STEP = 1.5;
const TILE = 256; // pixels
const LETTERS = 15; // pixels, of names on the map
const widths = {}; // pixels, of the name of each site

function map() {
  const full = Number(svg.dataset.half);
  const view = { x: 0, y: 0, half: full };
  let held = null;
  let moved = false;

  const metresPerPixel = () => (2 * view.half) / (Math.min(svg.clientWidth, svg.clientHeight) || 1);

  function paint() {
    const unit = metresPerPixel();
    const [wide, high] = [svg.clientWidth * unit, svg.clientHeight * unit];
    svg.setAttribute("viewBox", `${view.x - wide / 2} ${view.y - high / 2} ${wide} ${high}`);
    for (const dot of svg.querySelectorAll(".seen circle")) {
      const count = Number(dot.dataset.shown || dot.dataset.count);
      dot.setAttribute("r", (5 + Math.min(7, Math.sqrt(count))) * unit); // wider than a site's square, which lies over it
    }
    for (const place of svg.querySelectorAll(".place")) {
      const [mark] = place.children;
      const size = 8 * unit;
      mark.setAttribute("x", Number(mark.dataset.x) - size / 2);
      mark.setAttribute("y", Number(mark.dataset.y) - size / 2);
      mark.setAttribute("width", size);
      mark.setAttribute("height", size);
    }
    names(unit);
    bar(unit);
    tiles(unit);
  }

  function names(unit) {
    const edge = { x: svg.clientWidth / 2, y: svg.clientHeight / 2 };
    const places = [...svg.querySelectorAll(".place")].sort((a, b) => b.classList.contains("chosen") - a.classList.contains("chosen"));
    const points = places.map((place) => {
      const [mark, name] = place.children;
      name.setAttribute("font-size", LETTERS * unit);
      name.textContent = name.dataset.name;
      const wide = (widths[place.dataset.site] ||= name.getComputedTextLength() / unit);
      return { x: (Number(mark.dataset.x) - view.x) / unit, y: (Number(mark.dataset.y) - view.y) / unit, wide };
    });
    const numbered = [];
    spread(points, LETTERS, edge).forEach((found, index) => {
      const name = places[index].children[1];
      const { middle, foot } = found || { middle: points[index].x, foot: points[index].y - 9 };
      places[index].classList.toggle("nameless", !found);
      if (found?.number) {
        name.textContent = found.number;
        numbered.push([found.number, name.dataset.name]);
      }
      name.setAttribute("x", view.x + middle * unit);
      name.setAttribute("y", view.y + foot * unit);
    });
    tellNumbers(at("numbered"), numbered);
  }

  function bar(unit) {
    const power = 10 ** Math.floor(Math.log10(110 * unit));
    const length = [5, 2, 1].map((step) => step * power).find((metres) => metres <= 110 * unit);
    at("bar").querySelector("path").setAttribute("d", `M1 2v8h${length / unit}v-8`);
    at("bar-words").textContent = length >= 1000 ? `${length / 1000} km` : `${length} m`;
  }

  // Tiles of a picture map (Web Mercator), those that the view shows, at the zoom that fits it.
  function tiles(unit) {
    if (!svg.dataset.tiles) return;
    const scale = Number(svg.dataset.scale);
    const round = 2 * Math.PI * scale;
    const wanted = Math.round(Math.log2(round / (TILE * unit)));
    const zoom = Math.min(Math.max(wanted, Number(svg.dataset.least)), Number(svg.dataset.most));
    const size = round / 2 ** zoom;
    const west = scale * (-Math.PI - (Number(svg.dataset.east) * Math.PI) / 180);
    const north = -scale * (Math.PI - Number(svg.dataset.north));
    const wide = [svg.clientWidth, svg.clientHeight].map((length) => (length * unit) / 2);
    const columns = [-1, 1].map((side) => Math.floor((view.x + side * wide[0] - west) / size));
    const rows = [-1, 1].map((side) => Math.floor((view.y + side * wide[1] - north) / size));
    if ((columns[1] - columns[0] + 1) * (rows[1] - rows[0] + 1) > 120) return;
    const kept = new Map([...at("tiles").children].map((one) => [one.getAttribute("href"), one]));
    const shown = [];
    for (let column = columns[0]; column <= columns[1]; column += 1) {
      for (let row = rows[0]; row <= rows[1]; row += 1) {
        const href = `${svg.dataset.tiles}${zoom}/${column}/${row}`;
        shown.push(kept.get(href) || picture(href, west + column * size, north + row * size, size));
      }
    }
    at("tiles").replaceChildren(...shown);
  }

  function picture(href, x, y, size) {
    const one = document.createElementNS("http://www.w3.org/2000/svg", "image");
    for (const [name, value] of Object.entries({ href, x, y, width: size, height: size })) one.setAttribute(name, value);
    return one;
  }

  function zoom(factor, event) {
    const half = Math.min(Math.max(view.half / factor, 25), full * 4);
    if (event) {
      const box = svg.getBoundingClientRect();
      const unit = metresPerPixel();
      const dx = (event.clientX - box.left - box.width / 2) * unit;
      const dy = (event.clientY - box.top - box.height / 2) * unit;
      view.x += dx * (1 - half / view.half);
      view.y += dy * (1 - half / view.half);
    }
    view.half = half;
    paint();
  }

  function move(dx, dy) {
    view.x += dx;
    view.y += dy;
    paint();
  }

  const fingers = new Map();
  svg.addEventListener("wheel", (event) => { event.preventDefault(); zoom(event.deltaY < 0 ? STEP : 1 / STEP, event); }, { passive: false });
  svg.addEventListener("pointerdown", (event) => { fingers.set(event.pointerId, event); held = event; moved = false; });
  svg.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) return;
    const others = [...fingers.values()].filter((one) => one.pointerId !== event.pointerId);
    if (others.length) {
      const before = fingers.get(event.pointerId);
      const apart = (one) => Math.hypot(one.clientX - others[0].clientX, one.clientY - others[0].clientY) || 1;
      moved = true;
      zoom(apart(event) / apart(before));
    } else if (moved || Math.hypot(event.clientX - held.clientX, event.clientY - held.clientY) > 4) {
      moved = true;
      const unit = metresPerPixel();
      move((held.clientX - event.clientX) * unit, (held.clientY - event.clientY) * unit);
      held = event;
    }
    fingers.set(event.pointerId, event);
  });
  for (const end of ["pointerup", "pointercancel", "pointerleave"]) svg.addEventListener(end, (event) => fingers.delete(event.pointerId));
  svg.addEventListener("dragstart", (event) => event.preventDefault());
  svg.addEventListener("keydown", (event) => {
    const step = view.half / 5;
    const acts = { ArrowLeft: () => move(-step, 0), ArrowRight: () => move(step, 0), ArrowUp: () => move(0, -step), ArrowDown: () => move(0, step), "+": () => zoom(STEP), "-": () => zoom(1 / STEP) };
    if (!acts[event.key] || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    acts[event.key]();
  });
  for (const button of document.querySelectorAll("[data-zoom]")) {
    button.addEventListener("click", () => {
      if (button.dataset.zoom === "whole") Object.assign(view, { x: 0, y: 0, half: full });
      else zoom(button.dataset.zoom === "closer" ? STEP : 1 / STEP);
      paint();
    });
  }
  new ResizeObserver(paint).observe(svg);
  return { paint, moved: () => moved };
}

const MONTHS = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "long", timeZone: "UTC" });
const words = (day) => MONTHS.format(new Date(Date.UTC(2024, 0, day))); // a leap year has all days

function season(paint) {
  let [from, to] = [Number(at("from").value), Number(at("to").value)];
  if (from > to) [from, to] = [to, from];
  const whole = from === 1 && to === 366;
  let count = 0;
  for (const dot of svg.querySelectorAll(".seen circle")) {
    const days = dot.dataset.days ? dot.dataset.days.split(" ").map(Number) : [];
    const shown = whole ? Number(dot.dataset.count) : days.filter((day) => day >= from && day <= to).length;
    dot.dataset.shown = shown;
    dot.toggleAttribute("hidden", !shown);
    dot.classList.toggle("away", !shown);
    count += shown;
  }
  at("season-words").textContent = `${whole ? "the whole year" : `${words(from)} to ${words(to)}`}, ${count} ${count === 1 ? "sighting" : "sightings"} on the map`;
  for (const id of ["from", "to"]) at(id).setAttribute("aria-valuetext", words(Number(at(id).value)));
  paint();
}

/** A site beside the map; the focus stays where it was pressed, or goes to the site when that link is gone. */
async function open(site) {
  try {
    const answer = await send(`/sites/at?site=${encodeURIComponent(site)}`);
    at("site").innerHTML = await answer.text(); // a page of this desk, escaped where it was filled
    at("site").scrollTop = 0;
    at("chosen").textContent = `Beside the map: ${at("site").querySelector("h2").textContent}`;
    for (const place of svg.querySelectorAll(".place")) place.classList.toggle("chosen", place.dataset.site === site);
    if (document.activeElement !== document.body) return;
    const heading = at("site").querySelector("h2");
    heading.tabIndex = -1;
    heading.focus();
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    at("site").textContent = error.message;
  }
}

if (svg) {
  const ground = map();
  for (const id of ["from", "to"]) at(id).addEventListener("input", () => season(ground.paint));
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-site]");
    if (!link || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    if (link.closest("svg") && ground.moved()) return;
    history.pushState(null, "", link.getAttribute("href"));
    open(link.dataset.site);
  });
  addEventListener("popstate", () => {
    const site = new URLSearchParams(location.search).get("site");
    if (site) open(site);
    else location.reload();
  });
  ground.paint();
}

document.documentElement.dataset.ready = "yes";
