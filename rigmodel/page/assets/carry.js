// Moving a station along the bar by hand: with mouse or finger in the view, or by its handle with
// the keys. A ghost goes along at once; the scene is changed when it is let go.

const IN_INCHES = { in: 25.4, ft: 25.4 };
const IN_METRIC = { mm: [1, 1], cm: [10, 2], m: [1000, 4] };
const ROUND = [[0, 0], [9, 0], [-9, 0], [0, 9], [0, -9], [7, 7], [-7, 7], [7, -7], [-7, -7]]; // a finger's breadth, px
const KEYS_REST_MS = 700; // after the last key the station is let go

// A length as the server writes it (units.py): sixteenths of an inch, or tenths of a millimetre.
function lengthWords(mm, unit) {
  if (!IN_INCHES[unit]) {
    const [size, digits] = IN_METRIC[unit];
    return `${Number((mm / size).toFixed(digits))} ${unit}`;
  }
  const inches = mm / IN_INCHES[unit];
  const all = Math.round(inches * 16);
  const feet = unit === "ft" ? Math.floor(all / 192) : 0;
  const rest = all - 192 * feet;
  let [top, bottom] = [rest % 16, 16];
  while (top && top % 2 === 0) [top, bottom] = [top / 2, bottom / 2];
  const whole = Math.floor(rest / 16);
  const fraction = top ? `${whole || !top ? `${whole} ` : ""}${top}/${bottom}` : String(whole);
  const text = feet ? (rest ? `${feet} ft ${fraction} in` : `${feet} ft`) : `${fraction} in`;
  return Math.abs(inches - all / 16) > 1 / 64 + 1e-9 ? `${text} (${inches.toFixed(2)})` : text;
}

class Carrier {
  // `place` is told what was moved where: the station's place and the new mark, mm from the middle.
  constructor(stage, place) {
    Object.assign(this, { stage, place, name: null, offset: 0, carrying: false, rest: 0 });
    this.grip = byId("grip");
    stage.hands = { take: (event) => this.take(event), tap: (event) => this.tap(event) };
    stage.painted = (view, wide, high) => this.drawn(view, wide, high);
    this.grip.addEventListener("pointerdown", (event) => this.grabGrip(event));
    this.grip.addEventListener("keydown", (event) => this.key(event));
    this.grip.addEventListener("blur", () => this.carrying || this.drop());
    document.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && (this.carrying || this.offset)) this.cancel();
    });
  }

  get chosen() {
    const { model } = this.stage;
    return (model && model.stations.find((s) => s.name === this.name)) || null;
  }

  get mark() {
    return this.chosen.place + this.offset;
  }

  words() {
    const { mark } = this;
    const side = Math.abs(mark) < 0.05 ? "" : mark > 0 ? " left" : " right";
    return lengthWords(Math.abs(mark), this.unit) + side;
  }

  // A new model has come: what was carried stands where it was put.
  renew({ step, unit }) {
    Object.assign(this, { step, unit });
    if (this.carrying) return;
    this.offset = 0;
    this.show();
  }

  choose(name) {
    this.cancel();
    this.name = name;
    this.show();
    const { chosen } = this;
    if (!chosen) return;
    this.stage.says.textContent =
      `Station ${chosen.index + 1}, ${chosen.name}: its clamp is marked ${chosen.mark || "at the middle"} on the bar. ` +
      "Drag it along the bar, or use the arrow keys on its handle.";
  }

  show() {
    const { chosen, stage, grip } = this;
    grip.hidden = !chosen;
    stage.lit = chosen ? (body) => this.moves(body.station) !== 0 : null;
    stage.ghosts = chosen && this.offset ? [this.ghost()] : [];
    if (chosen) {
      const { half } = stage.model.bar;
      grip.setAttribute("aria-label", `Place on the bar of ${chosen.name}, station ${chosen.index + 1}`);
      for (const [key, value] of Object.entries({ min: -half, max: half, now: this.mark })) {
        grip.setAttribute(`aria-value${key}`, value.toFixed(1));
      }
      grip.setAttribute("aria-valuetext", `${this.words()} of the bar's middle`);
    }
    stage.redraw();
  }

  // Which way a station goes when the chosen one goes left: all places of one station keep alike.
  moves(name) {
    const { chosen } = this;
    const other = this.stage.model.stations.find((s) => s.name === name);
    if (!other || !chosen || other.index !== chosen.index) return 0;
    if (chosen.free) return Number(other.name === chosen.name);
    return (other.side || 1) * (chosen.side || 1);
  }

  ghost() {
    const { model } = this.stage;
    const { left } = model.barLine();
    const worlds = model.worlds();
    const moved = new Map();
    for (const body of model.bodies) {
      const way = this.moves(body.station);
      if (way && !moved.has(body.frame)) moved.set(body.frame, way);
    }
    for (const [frame, way] of moved) {
      const world = [...worlds[frame]];
      for (let k = 0; k < 3; k += 1) world[4 * k + 3] += left[k] * this.offset * way;
      worlds[frame] = world;
    }
    return { worlds, holds: (body) => this.moves(body.station) !== 0, strong: true };
  }

  // Steps count from the middle of the bar, where its holes begin as well.
  put(mark) {
    const most = Math.floor(this.stage.model.bar.half / this.step) * this.step;
    this.offset = clamp(Math.round(mark / this.step) * this.step, -most, most) - this.chosen.place;
    if (Math.abs(this.offset) < 1e-6) this.offset = 0;
    this.show();
  }

  ray(event, [dx, dy] = [0, 0]) {
    const { canvas, camera } = this.stage;
    const box = canvas.getBoundingClientRect();
    const x = (2 * (event.clientX + dx - box.left)) / box.width - 1;
    return camera.ray(x, 1 - (2 * (event.clientY + dy - box.top)) / box.height);
  }

  // What is seen at the pointer, or for a finger next to it.
  under(event) {
    const spots = event.pointerType === "mouse" ? ROUND.slice(0, 1) : ROUND;
    for (const spot of spots) {
      const found = seenAt(this.stage.model, this.ray(event, spot));
      if (found && found.station) return found;
    }
    return null;
  }

  tap(event) {
    const found = this.under(event);
    this.choose(found ? found.station : null);
    if (found) this.stage.bringUp(this.card());
  }

  card() {
    const card = byId(`station-${this.chosen.index}`);
    card.open = true;
    return card;
  }

  take(event) {
    const { chosen } = this;
    const found = chosen && !event.shiftKey ? this.under(event) : null;
    if (!found || this.moves(found.station) === 0) return null;
    this.name = found.station;
    return this.grab(event, found.point);
  }

  // Follows the pointer along a line through what was taken hold of.
  grab(event, point) {
    const line = { middle: point, left: this.stage.model.barLine().left };
    const start = nearestAlong(line, this.ray(event));
    if (start === null) return null;
    const from = this.mark;
    this.carrying = true;
    return {
      move: (now) => {
        const reached = nearestAlong(line, this.ray(now));
        if (this.carrying && reached !== null) this.put(from + reached - start);
      },
      drop: () => this.drop(),
      cancel: () => this.cancel(),
    };
  }

  grabGrip(event) {
    if (event.button !== 0 || !this.chosen) return;
    event.preventDefault();
    this.grip.focus({ preventScroll: true });
    const { middle: from, left } = this.stage.model.barLine();
    const held = this.grab(event, along(from, left, this.mark));
    if (!held) return;
    if (event.isTrusted) this.grip.setPointerCapture(event.pointerId);
    const move = (now) => held.move(now);
    const end = (now) => {
      for (const [what, f] of [["pointermove", move], ["pointerup", end], ["pointercancel", end]]) this.grip.removeEventListener(what, f);
      if (now.type === "pointerup") held.drop();
      else held.cancel();
    };
    for (const [what, f] of [["pointermove", move], ["pointerup", end], ["pointercancel", end]]) this.grip.addEventListener(what, f);
  }

  key(event) {
    const steps = { ArrowLeft: 1, ArrowUp: 1, ArrowRight: -1, ArrowDown: -1, PageUp: 8, PageDown: -8 }[event.key];
    if (event.key === "Enter") this.drop();
    if (!steps || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    const { mark, step } = this;
    const onto = steps > 0 ? Math.floor(mark / step + 1e-6) : Math.ceil(mark / step - 1e-6);
    this.put((onto + steps) * step);
    clearTimeout(this.rest);
    this.rest = setTimeout(() => this.carrying || this.drop(), KEYS_REST_MS);
  }

  // The ghost stays until the new model comes.
  drop() {
    clearTimeout(this.rest);
    this.carrying = false;
    if (this.offset && this.chosen) this.place(this.chosen, this.mark);
  }

  cancel() {
    clearTimeout(this.rest);
    this.carrying = false;
    this.offset = 0;
    if (this.name !== null) this.show();
  }

  // The handle over the clamp, and the mark with its distance from the bar's middle.
  drawn(view, wide, high) {
    const { chosen, grip, stage } = this;
    if (!chosen) return;
    const { middle: from, left } = stage.model.barLine();
    const [zero, spot] = [0, this.mark].map((t) => stage.marks.place(view, along(from, left, t), wide, high));
    grip.classList.toggle("away", !spot);
    if (!spot || !zero) return;
    const [x, y] = [clamp(spot[0], 24, wide - 24), clamp(spot[1] - 44, 26, high - 16)];
    grip.style.left = `${x}px`;
    grip.style.top = `${y}px`;
    const group = drawn("g", { class: "carry" }, stage.marks.svg);
    drawn("line", { x1: zero[0], y1: zero[1], x2: spot[0], y2: spot[1] }, group);
    drawn("line", { x1: spot[0], y1: spot[1], x2: x, y2: y + 12 }, group);
    for (const [cx, cy] of [zero, spot]) drawn("circle", { cx, cy, r: 4.5 }, group);
    const half = 4.4 * this.words().length + 6;
    drawn("text", { x: clamp(x, half, wide - half), y: y - 20, "text-anchor": "middle" }, group, this.words());
  }
}
