// Zooming, moving and lighting of the pictures: for looking only, nothing of it is kept.

const MOST = 24; // times the fitting size
const STEP = 1.25; // a key or a notch of the wheel
const MOVE = 0.1; // of the pane, by one key
const UNDER = 1.1; // times as large: pictures stand beside each other unless it is worth the change
const RIM = 0.94; // of the pane, at most, for the insect at the start

const NEUTRAL = { brightness: 1, contrast: 1, warmth: 0 };

export class Look {
  constructor(place) {
    this.place = place;
    this.together = true;
    this.light = { ...NEUTRAL };
    this.panes = [];
    this.active = 0;
  }

  /** Take the panes that are shown now. */
  take(figures) {
    layOut(figures);
    this.panes = figures.map((figure) => new Pane(figure, this));
    this.active = Math.min(this.active, Math.max(this.panes.length - 1, 0));
    this.paint();
  }

  /** The window has another size now. */
  resized() {
    layOut(this.panes.map((pane) => pane.figure));
    this.panes.forEach((pane) => pane.resized());
  }

  chosen() {
    return this.panes[this.active];
  }

  choose(index) {
    if (index >= 0 && index < this.panes.length) this.active = index;
    this.panes.forEach((pane, at) => pane.figure.classList.toggle("active", at === this.active && this.panes.length > 1));
  }

  each(pane, act) {
    for (const one of this.together ? this.panes : [pane]) act(one);
  }

  zoom(factor, pane = this.chosen(), at = [0.5, 0.5]) {
    if (pane) this.each(pane, (one) => one.zoom(factor, at));
  }

  move(dx, dy, pane = this.chosen()) {
    if (pane) this.each(pane, (one) => one.move(dx, dy));
  }

  fit() {
    this.panes.forEach((pane) => pane.fit());
  }

  toInsect() {
    this.panes.forEach((pane) => pane.toInsect());
  }

  lighten(what, by) {
    const limits = what === "warmth" ? [-0.5, 0.5] : [0.2, 4];
    const next = what === "warmth" ? this.light[what] + by : this.light[what] * by;
    this.light[what] = Math.min(Math.max(next, limits[0]), limits[1]);
    this.paint();
  }

  plain() {
    this.light = { ...NEUTRAL };
    this.paint();
  }

  paint() {
    const { brightness: b, contrast: c, warmth: w } = this.light;
    const gains = [b * (1 + w), b, b * (1 - w)].map((gain) => gain * c);
    const lift = 0.5 - 0.5 * c;
    const rows = gains.map((gain, at) => [0, 1, 2].map((k) => (k === at ? gain : 0)).concat(0, lift));
    document.querySelector("#light feColorMatrix").setAttribute("values", [...rows, [0, 0, 0, 1, 0]].flat().join(" "));
    const changed = b !== 1 || c !== 1 || w !== 0;
    this.panes.forEach((pane) => { pane.img.style.filter = changed ? "url(#light)" : ""; });
  }

  act(name) {
    const acts = {
      closer: () => this.zoom(STEP), farther: () => this.zoom(1 / STEP), fit: () => this.fit(), insect: () => this.toInsect(),
      darker: () => this.lighten("brightness", 1 / 1.15), brighter: () => this.lighten("brightness", 1.15),
      softer: () => this.lighten("contrast", 1 / 1.15), harder: () => this.lighten("contrast", 1.15),
      cooler: () => this.lighten("warmth", -0.05), warmer: () => this.lighten("warmth", 0.05),
      plain: () => this.plain(), together: () => { this.together = !this.together; },
    };
    if (!(name in acts)) return false;
    acts[name]();
    return true;
  }

  arrow(key) {
    const steps = { ArrowLeft: [MOVE, 0], ArrowRight: [-MOVE, 0], ArrowUp: [0, MOVE], ArrowDown: [0, -MOVE] };
    if (steps[key]) this.move(...steps[key]);
  }
}

const boxOf = (figure) => figure.querySelector(".box")?.dataset.box.split(",").map(Number);

function sizeOf(figure) {
  const img = figure.querySelector("img");
  return [Number(img.getAttribute("width")), Number(img.getAttribute("height"))];
}

/** How large the insect begins in a pane: the picture fills the pane, but its box is never cut. */
function firstScale(figure, width, height) {
  const [wide, high] = sizeOf(figure);
  const [whole, full] = [Math.min(width / wide, height / high), Math.max(width / wide, height / high)];
  const [x0, y0, x1, y1] = boxOf(figure) || [0, 0, 1, 1];
  return Math.max(Math.min(full, RIM * Math.min(width / ((x1 - x0) * wide), height / ((y1 - y0) * high))), whole);
}

/** Two pictures beside each other, or one under the other where the insects come out larger so. */
function layOut(figures) {
  const place = figures[0]?.parentElement;
  if (!place) return;
  const { width, height } = place.getBoundingClientRect();
  const both = (w, h) => figures.reduce((sum, figure) => sum + firstScale(figure, w, h) * sizeOf(figure)[0], 0);
  const count = figures.length;
  place.classList.toggle("under", both(width, height / count) > UNDER * both(width / count, height));
}

class Pane {
  constructor(figure, look) {
    this.figure = figure;
    this.look = look;
    this.port = figure.querySelector(".port");
    this.moved = figure.querySelector(".moved");
    this.img = figure.querySelector("img");
    this.sheet = figure.querySelector(".sheet");
    this.start();
    if (!figure.dataset.ready) this.listen();
    figure.pane = this;
    figure.dataset.ready = "yes";
  }

  /** The size at which the whole picture fits, known before it is loaded. */
  fitting() {
    const { width, height } = this.port.getBoundingClientRect();
    const [wide, high] = sizeOf(this.figure);
    const by = Math.min(width / wide, height / high);
    return { width, height, wide: wide * by, high: high * by };
  }

  /** At the start the picture fills its pane around the insect, and never cuts its box. */
  start() {
    const { width, height, wide, high } = this.fitting();
    this.around(Math.max(width / wide, height / high), RIM);
    this.began = this.standing();
  }

  standing() {
    return [this.scale, this.x, this.y].join(" ");
  }

  /** What nobody zoomed or moved begins anew in a pane of another shape. */
  resized() {
    if (this.standing() === this.began) this.start();
    else this.paint();
  }

  // Offsets are shares of the pane, so that two panes of different size move alike.
  fit() {
    Object.assign(this, { scale: 1, x: 0, y: 0 });
    this.paint();
  }

  zoom(factor, [atX, atY]) {
    const scale = Math.min(Math.max(this.scale * factor, 1), MOST);
    const real = scale / this.scale;
    this.x = atX - 0.5 - (atX - 0.5 - this.x) * real;
    this.y = atY - 0.5 - (atY - 0.5 - this.y) * real;
    this.scale = scale;
    this.keepInside();
    this.paint();
  }

  move(dx, dy) {
    this.x += dx;
    this.y += dy;
    this.keepInside();
    this.paint();
  }

  /** No emptiness beside the picture where the picture could be. */
  keepInside() {
    const { width, height, wide, high } = this.fitting();
    const mostX = Math.max((wide * this.scale) / width - 1, 0) / 2;
    const mostY = Math.max((high * this.scale) / height - 1, 0) / 2;
    this.x = Math.min(Math.max(this.x, -mostX), mostX);
    this.y = Math.min(Math.max(this.y, -mostY), mostY);
  }

  toInsect() {
    this.around(MOST, RIM);
  }

  /** Zoom to at most so much, with the insect in the middle and within the rim. */
  around(most, rim) {
    Object.assign(this, { scale: 1, x: 0, y: 0 });
    const box = boxOf(this.figure);
    const { width, height, wide, high } = this.fitting();
    if (box && width && height) {
      const [x0, y0, x1, y1] = box;
      const room = Math.max(((x1 - x0) * wide) / width, ((y1 - y0) * high) / height);
      this.scale = Math.min(Math.max(Math.min(most, rim / room), 1), MOST);
      this.x = (0.5 - (x0 + x1) / 2) * (wide / width) * this.scale;
      this.y = (0.5 - (y0 + y1) / 2) * (high / height) * this.scale;
      this.keepInside();
    }
    this.paint();
  }

  /** Load the full resolution once the fitting size has too few pixels for what is shown. */
  loadWhole() {
    const { whole } = this.img.dataset;
    const shown = this.fitting().wide * this.scale * window.devicePixelRatio;
    if (!whole || this.loading || !this.img.complete || shown <= this.img.naturalWidth) return;
    this.loading = new Image();
    this.loading.src = whole;
    this.loading.decode().then(() => { this.img.src = whole; this.img.dataset.whole = ""; }, () => { this.loading = null; });
  }

  paint() {
    const { width, height, wide, high } = this.fitting();
    Object.assign(this.sheet.style, { width: `${wide}px`, height: `${high}px` });
    this.sheet.style.setProperty("--thin", `${1 / this.scale}px`);
    this.moved.style.transform = `translate(${this.x * width}px, ${this.y * height}px) scale(${this.scale})`;
    this.loadWhole();
  }

  share(event) {
    const port = this.port.getBoundingClientRect();
    return [(event.clientX - port.left) / port.width, (event.clientY - port.top) / port.height];
  }

  listen() {
    const held = new Map();
    const self = () => this.figure.pane;
    this.port.addEventListener("wheel", (event) => {
      event.preventDefault();
      self().look.zoom(event.deltaY < 0 ? STEP : 1 / STEP, self(), self().share(event));
    }, { passive: false });
    this.port.addEventListener("pointerdown", (event) => {
      self().look.choose(self().look.panes.indexOf(self()));
      if (self().drawing || event.button !== 0) return;
      held.set(event.pointerId, event);
      this.port.setPointerCapture(event.pointerId);
    });
    this.port.addEventListener("pointermove", (event) => {
      const before = held.get(event.pointerId);
      if (!before) return;
      const port = this.port.getBoundingClientRect();
      if (held.size === 1) {
        self().look.move((event.clientX - before.clientX) / port.width, (event.clientY - before.clientY) / port.height, self());
      } else {
        const [other] = [...held.entries()].filter(([id]) => id !== event.pointerId).map(([, one]) => one);
        const apart = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY) || 1;
        self().look.zoom(apart(event) / apart(before), self(), self().share(event));
      }
      held.set(event.pointerId, event);
    });
    for (const end of ["pointerup", "pointercancel"]) {
      this.port.addEventListener(end, (event) => held.delete(event.pointerId));
    }
    this.port.addEventListener("dblclick", () => self().look.toInsect());
  }
}
