// The 3D view with its buttons, sliders, cut, ghosts and labels. It can be told anew what to draw:
// the camera stays, and so does what the sliders and boxes say.

const CUT_AXES = { across: [1, 0, 0], along: [0, 1, 0], level: [0, 0, 1] };
const CORNERS = [[0, 0], [1, 0], [0, 1], [1, 1]];
const MOST_DENSE = 2.5; // pixels drawn for each of the page's; more is not seen
const REST_MS = 250; // after the last change, where drawing is slow, it is drawn smooth
const SLOW_MS = 33; // two pictures of a screen: slower than this does not turn fluently
const byId = (id) => document.getElementById(id);

function pressed(what, chosen) {
  for (const button of document.querySelectorAll(what)) {
    button.setAttribute("aria-pressed", String(chosen(button)));
  }
}

class Stage {
  constructor() {
    this.stage = byId("stage");
    this.canvas = byId("canvas");
    this.says = byId("says");
    this.cut = { kind: "none", share: 0.5, flip: false };
    this.background = rgb(getComputedStyle(document.documentElement).getPropertyValue("--stage").trim());
    this.model = null;
    this.shapes = new Map();
    this.shares = new Map(); // how far each joint has been moved, -1 to 1
    this.waiting = false;
    this.drawn = ""; // what picture the canvas shows, in the painter's words
    this.slow = false; // whether smooth pictures take too long here
    this.timing = false;
    this.rest = 0;
    this.hands = {}; // what else a pointer on the canvas may do; see hands.js
    this.ghosts = []; // more ghosts than those of the motions
    this.lit = null; // tells which bodies are outlined
    this.painted = () => {}; // called after each picture, with the view's matrix and size
  }

  // Takes new data. Where it cannot be drawn, that is said in words.
  take(data) {
    const first = this.model === null;
    const chosen = first ? null : this.marks.chosen;
    this.model = new Model(data, this.shapes);
    try {
      if (first) this.begin();
      else this.painter.show(this.model);
    } catch (error) {
      this.stage.dataset.state = "none";
      this.says.textContent = `No 3D view: ${error.message}. Everything else on this page holds.`;
      this.model = null;
      return;
    }
    this.camera.focus = this.model.focus;
    this.flight.stop();
    this.flight.values = this.model.values;
    this.marks.findings = data.findings;
    this.marks.chosen = (chosen && data.findings.find((f) => f.check === chosen.check && f.message === chosen.message)) || null;
    if (this.marks.chosen) Object.assign(this.model.values, this.marks.chosen.pose);
    else this.shift();
    for (const box of document.querySelectorAll("[data-group]")) this.group(box);
    this.press();
    this.redraw();
  }

  begin() {
    this.painter = new Painter(this.canvas, this.model);
    this.camera = new Camera(this.model.focus);
    this.flight = new Flight(this.camera, this.model.values, () => this.redraw());
    this.marks = new Marks(byId("marks"), [], (finding) => this.select(finding));
    handle(this.canvas, this.camera, {
      grab: () => {
        this.flight.stop();
        pressed("[data-view]", () => false);
      },
      redraw: () => this.redraw(),
      view: (name) => this.look(name),
      ...this.hands,
    });
    this.canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
    this.canvas.addEventListener("webglcontextrestored", () => {
      this.painter = new Painter(this.canvas, this.model);
      this.drawn = "";
      this.redraw();
    });
    new ResizeObserver(() => this.redraw()).observe(this.stage);
    this.camera.aspect = this.stage.clientWidth / Math.max(this.stage.clientHeight, 1);
    Object.assign(this.camera, this.camera.fitted("three-quarter"));
    pressed("[data-view]", (button) => button.dataset.view === "three-quarter");
    this.stage.dataset.state = "ready";
  }

  cutPlane() {
    const { model, cut } = this;
    const normal = CUT_AXES[cut.kind];
    if (!normal) return { cutOn: false, plane: [0, 0, 0, 1], cutSheet: [] };
    const way = cut.flip ? -1 : 1;
    const [low, high] = [dot(normal, model.focus[0]) - 5, dot(normal, model.focus[1]) + 5];
    const place = blend(low, high, cut.share);
    const k = normal.indexOf(1);
    const [a, b] = [0, 1, 2].filter((i) => i !== k);
    const cutSheet = CORNERS.map(([s, t]) => {
      const corner = [0, 0, 0];
      corner[k] = place;
      corner[a] = blend(model.bounds[0][a] - 500, model.bounds[1][a] + 500, s);
      corner[b] = blend(model.bounds[0][b] - 500, model.bounds[1][b] + 500, t);
      return corner;
    });
    return { cutOn: true, plane: [...normal.map((x) => x * way), place * way], cutSheet };
  }

  // What the painter is told, and what the eye sees; the canvas gets its size.
  scene() {
    const { canvas, stage, camera, model } = this;
    const [wide, high] = [stage.clientWidth, stage.clientHeight];
    const dense = Math.min(window.devicePixelRatio || 1, MOST_DENSE);
    const pixels = [Math.max(1, Math.round(wide * dense)), Math.max(1, Math.round(high * dense))];
    if (canvas.width !== pixels[0] || canvas.height !== pixels[1]) [canvas.width, canvas.height] = pixels;
    camera.aspect = pixels[0] / pixels[1];
    const seen = camera.seen(model.bounds);
    const { cutOn, plane, cutSheet } = this.cutPlane();
    return {
      view: seen.view,
      background: this.background,
      cutOn,
      cutSheet,
      stroke: dense,
      ghosts: [...this.motionGhosts(), ...this.ghosts],
      lit: this.lit,
      uniforms: {
        u_view: seen.view,
        u_eye: seen.eye,
        u_toward: seen.toward,
        u_light: seen.light,
        u_target: camera.target,
        u_cut: plane,
        u_pull: camera.flat ? 4e-4 : 2e-4,
      },
    };
  }

  // What is to be seen now. Where that takes long it is drawn with steps along its edges, and
  // smooth once nothing has changed for a little while.
  paint(smooth = !this.slow) {
    this.waiting = false;
    if (!this.model) return;
    const scene = this.scene();
    const picture = this.painter.gather(scene);
    if (picture !== this.drawn) this.draw(scene, smooth);
    this.drawn = picture;
    const { clientWidth: wide, clientHeight: high } = this.stage;
    this.marks.draw(scene.view, wide, high, this.labels());
    this.painted(scene.view, wide, high);
    this.stage.dataset.state = "drawn";
  }

  // Draws smooth whatever was drawn before: right after it the canvas can be read.
  paintWhole() {
    this.drawn = "";
    this.paint(true);
  }

  draw(scene, smooth) {
    clearTimeout(this.rest);
    const began = performance.now();
    this.painter.draw(scene, smooth);
    this.stage.dataset.picture = smooth ? "smooth" : "stepped";
    if (!smooth) this.rest = setTimeout(() => this.paintWhole(), REST_MS);
    else if (!this.timing) {
      this.timing = true;
      this.painter.done().then(() => Object.assign(this, { timing: false, slow: performance.now() - began > SLOW_MS }));
    }
  }

  // While something is to come soon nothing is drawn smooth: it would have to wait for that.
  hasten(soon) {
    clearTimeout(this.rest);
    if (!soon && this.stage.dataset.picture === "stepped") this.rest = setTimeout(() => this.paintWhole(), REST_MS);
  }

  redraw() {
    if (this.waiting || !this.model) return;
    this.waiting = true;
    requestAnimationFrame(() => this.paint());
  }

  // The rig at both ends of each motion whose ghosts are wanted.
  motionGhosts() {
    const { model } = this;
    const found = [];
    for (const box of document.querySelectorAll("[data-ghosts]:checked")) {
      for (const end of ["low", "high"]) {
        const moved = model.joints.filter((j) => j.kind === box.dataset.ghosts && Math.abs(j[end] - j.value) > 1e-6);
        if (!moved.length) continue;
        const values = { ...model.values };
        for (const joint of moved) values[joint.name] = joint[end];
        found.push({ worlds: model.worlds(values) });
      }
    }
    return found;
  }

  // What each station is called and where its clamp is marked on the bar.
  labels() {
    if (!byId("labels").checked) return [];
    const { middle: from, left } = this.model.barLine();
    return this.model.stations.map((s) => ({ at: along(from, left, s.place), words: `${s.name}: ${s.mark}` }));
  }

  look(name) {
    if (!this.model) return;
    pressed("[data-view]", (button) => button.dataset.view === name);
    this.flight.to(this.camera.fitted(name), {});
  }

  toWork() {
    if (!this.model) return;
    this.marks.chosen = null;
    this.resetSliders();
    this.press();
    this.flight.to({ ...this.camera }, this.model.atWork());
    this.says.textContent = "The rig stands at work.";
  }

  press() {
    const { chosen } = this.marks;
    pressed("[data-finding]", (button) => chosen !== null && Number(button.dataset.finding) === chosen.number);
  }

  select(finding) {
    if (this.marks.chosen === finding) return void this.toWork();
    this.marks.chosen = finding;
    this.press();
    pressed("[data-view]", () => false);
    this.resetSliders();
    this.flight.to(this.closeTo(finding), { ...this.model.atWork(), ...finding.pose });
    const posed = Object.keys(finding.pose).length ? " The rig stands as it does where this happens." : "";
    this.says.textContent = `Finding ${finding.number}, ${finding.word}: ${finding.message}${posed}`;
    this.bringUp(byId(`finding-${finding.number}`));
  }

  // Scrolls the list of findings, never the page.
  bringUp(item) {
    const fold = item.closest("details");
    if (fold) fold.open = true;
    const list = item.closest("[data-scrolls]");
    if (!list || list.scrollHeight <= list.clientHeight + 4) return;
    list.scrollTop += item.getBoundingClientRect().top - list.getBoundingClientRect().top - 12;
  }

  number(number) {
    const finding = this.model && this.marks.findings.find((f) => f.number === number);
    if (finding) this.select(finding);
  }

  // A place to see both points from; a line seen end on is looked at from the side.
  closeTo(finding) {
    const [a, b] = [finding.at[0], finding.at[finding.at.length - 1]];
    const line = minus(b, a);
    const long = size(line);
    let { turn } = this.camera;
    const rise = clamp(this.camera.rise, 12, 60);
    if (long > 1e-6 && Math.abs(dot(line, Camera.axes(turn, rise).back)) > 0.8 * long) turn += 55;
    return { turn, rise, target: middle(a, b), half: clamp(1.6 * long, 220, 900) };
  }

  resetSliders() {
    this.shares.clear();
    for (const slider of document.querySelectorAll("[data-motion]")) {
      slider.value = 0;
      this.tell(slider);
    }
  }

  tell(slider) {
    const share = Number(slider.value);
    const words = share === 0 ? "at work" : `${Math.abs(share)} % to ${share < 0 ? slider.dataset.low : slider.dataset.high}`;
    slider.setAttribute("aria-valuetext", words);
    slider.closest(".slider").querySelector("output").textContent = words;
  }

  // The joints that a slider moves: all of its kind, or the one that is picked.
  moves(slider) {
    const one = byId(`one-${slider.dataset.motion}`);
    const name = one ? one.value : "";
    return this.model.joints.filter((j) => (name ? j.name === name : j.kind === slider.dataset.motion));
  }

  slide(slider) {
    for (const joint of this.moves(slider)) this.shares.set(joint.name, Number(slider.value) / 100);
    this.tell(slider);
    this.shift();
  }

  // A slider shows how far the one arm that is now picked has been moved.
  pick(one) {
    const slider = byId(`motion-${one.dataset.one}`);
    const [joint] = this.moves(slider);
    slider.value = joint ? Math.round(100 * (this.shares.get(joint.name) || 0)) : 0;
    this.tell(slider);
  }

  // Puts every joint where the sliders have it.
  shift() {
    for (const joint of this.model.joints) {
      const share = this.shares.get(joint.name) || 0;
      this.model.values[joint.name] = blend(joint.value, share < 0 ? joint.low : joint.high, Math.abs(share));
    }
  }

  group(box) {
    if (box.checked) this.model.hidden.delete(box.dataset.group);
    else this.model.hidden.add(box.dataset.group);
  }

  // Listeners stand on the document, as sliders and boxes may be made anew with the scene.
  listen() {
    document.addEventListener("click", (event) => {
      const view = event.target.closest("[data-view]");
      if (view) this.look(view.dataset.view);
      const finding = event.target.closest("button[data-finding]");
      if (finding) this.number(Number(finding.dataset.finding));
    });
    document.addEventListener("input", (event) => {
      if (!this.model) return;
      const { target } = event;
      if (target.matches("[data-motion]")) {
        this.flight.stop();
        this.slide(target);
      } else if (target.id === "cut-place") this.cut.share = Number(target.value) / 100;
      else return;
      this.redraw();
    });
    document.addEventListener("change", (event) => {
      if (!this.model) return;
      const { target } = event;
      if (target.matches("[data-group]")) this.group(target);
      else if (target.matches("[data-one]")) this.pick(target);
      else if (target.id === "flat") this.camera.flat = target.checked;
      else if (target.id === "cut-flip") this.cut.flip = target.checked;
      else if (target.id === "cut") {
        this.cut.kind = target.value;
        byId("cut-place").disabled = byId("cut-flip").disabled = target.value === "none";
      } else if (!target.matches("[data-ghosts], #labels")) return;
      this.redraw();
    });
    byId("work").addEventListener("click", () => this.toWork());
  }
}
