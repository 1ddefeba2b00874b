// What is drawn: bodies in their frames, the shapes they share, joints that move frames.

const CREASE = Math.cos((32 * Math.PI) / 180);
const EDGE_FLOATS = 12;
const MOST_SHAPES = 600; // kept for the next model, which mostly has them too

function numbers(text, Kind) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i += 1) bytes[i] = raw.charCodeAt(i);
  return new Kind(bytes.buffer);
}

// Triangles or strokes, and the edges found from them when they are first wanted.
class Shape {
  constructor(told) {
    this.vertices = numbers(told.vertices || "", Float32Array);
    this.faces = numbers(told.faces || "", Uint32Array);
    this.strokes = numbers(told.strokes || "", Float32Array);
  }

  corner(index) {
    return [this.vertices[3 * index], this.vertices[3 * index + 1], this.vertices[3 * index + 2]];
  }

  normal(first) {
    const [a, b, c] = [0, 1, 2].map((k) => this.corner(this.faces[first + k]));
    const u = minus(b, a);
    const v = minus(c, a);
    const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    const length = size(n) || 1;
    return n.map((x) => x / length);
  }

  // Edges that can ever be seen, 12 numbers each: both ends, both normals. An edge with one face
  // only is a border: its second normal is nought, which the shader always draws.
  get edges() {
    if (this.found) return this.found;
    const open = new Map();
    const out = [];
    const add = (from, to, one, other) => out.push(...this.corner(from), ...this.corner(to), ...one, ...other);
    const most = this.vertices.length;
    for (let first = 0; first < this.faces.length; first += 3) {
      const normal = this.normal(first);
      for (let k = 0; k < 3; k += 1) {
        const a = this.faces[first + k];
        const b = this.faces[first + ((k + 1) % 3)];
        const key = a < b ? a * most + b : b * most + a;
        const other = open.get(key);
        if (other === undefined) {
          open.set(key, normal);
        } else {
          open.delete(key);
          if (dot(normal, other) < 0.9999) add(a, b, normal, other);
        }
      }
    }
    for (const [key, normal] of open) add(Math.floor(key / most), key % most, normal, [0, 0, 0]);
    for (let i = 0; i < this.strokes.length; i += 6) out.push(...this.strokes.subarray(i, i + 6), 0, 0, 1, 0, 0, 0);
    this.found = new Float32Array(out);
    return this.found;
  }

  // The box round it: least and greatest corner.
  get box() {
    if (this.round) return this.round;
    const low = [Infinity, Infinity, Infinity];
    const high = [-Infinity, -Infinity, -Infinity];
    this.vertices.forEach((x, i) => {
      low[i % 3] = Math.min(low[i % 3], x);
      high[i % 3] = Math.max(high[i % 3], x);
    });
    this.round = [low, high];
    return this.round;
  }
}

class Model {
  // `shapes` holds those of earlier models by name; what is new in `data` is added to it.
  constructor(data, shapes = new Map()) {
    this.frames = data.frames;
    this.bodies = data.bodies;
    this.lines = data.lines;
    for (const [name, told] of Object.entries(data.shapes)) shapes.set(name, new Shape(told));
    const used = new Set();
    for (const thing of [...this.bodies, ...this.lines]) {
      used.add(thing.shape);
      thing.shape = shapes.get(thing.shape);
    }
    if (shapes.size > MOST_SHAPES) for (const name of [...shapes.keys()]) if (!used.has(name)) shapes.delete(name);
    this.shapes = new Set(shapes.values());
    this.focus = data.focus;
    this.bounds = data.bounds;
    this.bar = data.bar;
    this.stations = data.stations;
    this.joints = data.frames.filter((f) => f.joint).map((f) => f.joint);
    this.hidden = new Set();
    this.values = this.atWork();
  }

  // Every joint at its working value.
  atWork() {
    return Object.fromEntries(this.joints.map((joint) => [joint.name, joint.value]));
  }

  // World matrix of every frame; a parent always comes before its children.
  worlds(values = this.values) {
    const found = [];
    for (const frame of this.frames) {
      let world = frame.parent < 0 ? frame.placement : times(found[frame.parent], frame.placement);
      if (frame.joint) world = times(world, jointMotion(frame.joint, values[frame.joint.name]));
      found.push(world);
    }
    return found;
  }

  // Where the bar's middle is, and the way along it to its left end.
  barLine() {
    const world = this.worlds()[this.bar.frame];
    return { middle: [world[3], world[7], world[11]], left: [world[1], world[5], world[9]] };
  }

  shown(thing) {
    return !this.hidden.has(thing.group);
  }
}
