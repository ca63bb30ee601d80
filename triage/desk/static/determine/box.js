// Drawing the insect's box on a picture, with the mouse or with arrows.

const STEP = 0.01; // of the picture, by one key

export class BoxDrawing {
  start(pane, keep) {
    this.stop();
    this.pane = pane;
    this.keep = keep;
    this.box = pane.figure.querySelector(".box");
    if (!this.box) return;
    this.corners = this.box.dataset.box.split(",").map(Number);
    pane.drawing = true;
    pane.fit();
    pane.port.classList.add("drawing");
    this.box.hidden = false;
    this.paint();
    this.ending = new AbortController();
    const { signal } = this.ending;
    pane.port.addEventListener("pointerdown", (event) => this.from(event), { signal });
    pane.port.addEventListener("pointermove", (event) => this.to(event), { signal });
    pane.port.addEventListener("pointerup", (event) => this.end(event), { signal });
  }

  stop() {
    if (!this.pane) return;
    this.pane.drawing = false;
    this.pane.port.classList.remove("drawing");
    this.ending?.abort();
    if (this.box) this.box.hidden = true;
    this.pane = null;
  }

  share(event) {
    const img = this.pane.img.getBoundingClientRect();
    const inside = (value) => Math.min(Math.max(value, 0), 1);
    return [inside((event.clientX - img.left) / img.width), inside((event.clientY - img.top) / img.height)];
  }

  from(event) {
    event.preventDefault();
    this.pane.port.setPointerCapture(event.pointerId);
    this.anchor = this.share(event);
  }

  to(event) {
    if (!this.anchor) return;
    const [x, y] = this.share(event);
    const [ax, ay] = this.anchor;
    this.corners = [Math.min(x, ax), Math.min(y, ay), Math.max(x, ax), Math.max(y, ay)];
    this.paint();
  }

  end() {
    this.anchor = null;
    const [x0, y0, x1, y1] = this.corners;
    if (x1 - x0 > STEP && y1 - y0 > STEP) this.done();
  }

  done() {
    const value = this.corners.map((one) => one.toFixed(4)).join(",");
    const { keep } = this;
    this.stop();
    keep(value);
  }

  paint() {
    const [x0, y0, x1, y1] = this.corners.map((one) => `${one * 100}%`);
    Object.assign(this.box.style, { left: x0, top: y0, width: `calc(${x1} - ${x0})`, height: `calc(${y1} - ${y0})` });
  }

  /** True if the key was for the box. */
  key(event) {
    if (!this.pane) return false;
    if (event.key === "Escape") this.stop();
    else if (event.key === "Enter") this.done();
    else if (event.key.startsWith("Arrow")) this.arrow(event);
    else return false;
    return true;
  }

  arrow(event) {
    const [dx, dy] = { ArrowLeft: [-STEP, 0], ArrowRight: [STEP, 0], ArrowUp: [0, -STEP], ArrowDown: [0, STEP] }[event.key];
    const [x0, y0, x1, y1] = this.corners;
    const next = event.shiftKey ? [x0, y0, x1 + dx, y1 + dy] : [x0 + dx, y0 + dy, x1 + dx, y1 + dy];
    if (Math.min(...next) < 0 || Math.max(...next) > 1 || next[2] - next[0] < STEP || next[3] - next[1] < STEP) return;
    this.corners = next;
    this.paint();
  }
}
