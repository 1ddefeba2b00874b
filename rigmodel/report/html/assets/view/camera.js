// Where the view is seen from: it turns about a target, level with the horizon.

const LENS = Math.tan((16 * Math.PI) / 180);

// Degrees: turn is counted from ahead of the tractor to its left, rise from the horizon up.
const VIEWS = {
  "three-quarter": { turn: 142, rise: 28 },
  top: { turn: 180, rise: 90 },
  front: { turn: 0, rise: 0 },
  rear: { turn: 180, rise: 0 },
  left: { turn: 90, rise: 0 },
  right: { turn: -90, rise: 0 },
};

class Camera {
  constructor(focus) {
    this.focus = focus;
    this.flat = false;
    this.aspect = 1;
    Object.assign(this, this.fitted("three-quarter"));
  }

  // The place from which the whole rig is seen in a standard view. `half` is half the height seen.
  fitted(name) {
    const { turn, rise } = VIEWS[name];
    const [low, high] = this.focus;
    const target = middle(low, high);
    const axes = Camera.axes(turn, rise);
    let half = 50;
    for (let i = 0; i < 8; i += 1) {
      const corner = [0, 1, 2].map((k) => (i & (1 << k) ? high : low)[k] - target[k]);
      const across = Math.abs(dot(corner, axes.right)) / this.aspect;
      const nearer = this.flat ? 0 : LENS * dot(corner, axes.back); // what is nearer looks larger
      half = Math.max(half, nearer + Math.max(across, Math.abs(dot(corner, axes.up))));
    }
    return { turn, rise, target, half: 1.06 * half };
  }

  static axes(turn, rise) {
    const [t, r] = [turn, rise].map((d) => (d * Math.PI) / 180);
    const back = [Math.cos(r) * Math.cos(t), Math.cos(r) * Math.sin(t), Math.sin(r)];
    const right = [-Math.sin(t), Math.cos(t), 0];
    const up = [-Math.sin(r) * Math.cos(t), -Math.sin(r) * Math.sin(t), Math.cos(r)];
    return { back, right, up };
  }

  // The matrix from world to clip space, and what the shaders need of the eye.
  seen(bounds) {
    const { back, right, up } = Camera.axes(this.turn, this.rise);
    const away = this.half / LENS;
    const eye = along(this.target, back, away);
    const reach = size(minus(bounds[1], bounds[0])) + size(minus(this.target, middle(...bounds)));
    const rows = [right, up, back].map((axis) => [...axis, -dot(axis, eye)]);
    const look = [...rows[0], ...rows[1], ...rows[2], 0, 0, 0, 1];
    const far = away + reach;
    const near = this.flat ? away - reach : Math.max(away - reach, 0.02 * away);
    const [sx, sy] = [1 / (this.aspect * this.half), 1 / this.half];
    const lens = this.flat
      ? [sx, 0, 0, 0, 0, sy, 0, 0, 0, 0, -2 / (far - near), -(far + near) / (far - near), 0, 0, 0, 1]
      : [
        sx * away, 0, 0, 0,
        0, sy * away, 0, 0,
        0, 0, -(far + near) / (far - near), (-2 * far * near) / (far - near),
        0, 0, -1, 0,
      ];
    const light = [0, 1, 2].map((k) => 0.5 * back[k] + 0.72 * up[k] - 0.48 * right[k]);
    const bright = size(light);
    return {
      view: times(lens, look),
      eye: this.flat ? [...back, 0] : [...eye, 1],
      toward: back,
      light: light.map((x) => x / bright),
    };
  }

  // The line of sight through a place of the view, -1 to 1 to the right and up.
  ray(x, y) {
    const { back, right, up } = Camera.axes(this.turn, this.rise);
    const away = this.half / LENS;
    const eye = along(this.target, back, away);
    const place = along(along(this.target, right, x * this.half * this.aspect), up, y * this.half);
    if (this.flat) return { from: along(place, back, away), way: back.map((k) => -k) };
    const way = minus(place, eye);
    const long = size(way);
    return { from: eye, way: way.map((k) => k / long) };
  }

  orbit(turn, rise) {
    this.turn += turn;
    this.rise = clamp(this.rise + rise, -90, 90);
  }

  // Shares of the view's height to the right and up.
  pan(right, up) {
    const axes = Camera.axes(this.turn, this.rise);
    this.target = along(along(this.target, axes.right, -2 * this.half * right), axes.up, -2 * this.half * up);
  }

  zoom(factor) {
    this.half = clamp(this.half * factor, 8, 20000);
  }
}

// Moves a camera and the joints to new places in a little while, or at once if motion is unwanted.
class Flight {
  constructor(camera, values, redraw) {
    Object.assign(this, { camera, values, redraw, run: 0 });
    this.still = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  }

  stop() {
    this.run += 1;
  }

  to(place, pose, done = () => {}) {
    const run = (this.run += 1);
    const from = { ...this.camera, values: { ...this.values } };
    const turn = ((((place.turn - from.turn) % 360) + 540) % 360) - 180;
    const start = performance.now();
    const step = (now) => {
      if (run !== this.run) return;
      const share = this.still ? 1 : clamp((now - start) / 650, 0, 1);
      const eased = share * share * (3 - 2 * share);
      this.camera.turn = from.turn + turn * eased;
      this.camera.rise = blend(from.rise, place.rise, eased);
      this.camera.half = from.half * (place.half / from.half) ** eased;
      this.camera.target = [0, 1, 2].map((k) => blend(from.target[k], place.target[k], eased));
      for (const [name, value] of Object.entries(pose)) {
        this.values[name] = blend(from.values[name], value, eased);
      }
      this.redraw();
      if (share < 1) requestAnimationFrame(step);
      else done();
    };
    if (this.still) step(start);
    else requestAnimationFrame(step);
  }
}
