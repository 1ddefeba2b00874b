// What is drawn: bodies in their frames, the shapes they share, joints that move frames.

const CREASE = Math.cos((32 * Math.PI) / 180);
const FLAT = 0.9999; // cosine between two triangles of one face
const BORDER = -1;
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
    this.faces = numbers(told.faces || "", Uint32Array);
    this.vertices = numbers(told.vertices || told.strokes || "", Float32Array);
    this.stroked = Boolean(told.strokes); // every two vertices are the ends of a stroke
  }

  corner(index) {
    return [this.vertices[3 * index], this.vertices[3 * index + 1], this.vertices[3 * index + 2]];
  }

  // The plane of each triangle, 4 numbers: its unit normal, and how far it lies along that.
  get planes() {
    if (this.flats) return this.flats;
    const { faces, vertices } = this;
    this.flats = new Float32Array((faces.length / 3) * 4);
    for (let first = 0, put = 0; first < faces.length; first += 3, put += 4) {
      const [a, b, c] = [3 * faces[first], 3 * faces[first + 1], 3 * faces[first + 2]];
      const [x, y, z] = [vertices[a], vertices[a + 1], vertices[a + 2]];
      const [ux, uy, uz] = [vertices[b] - x, vertices[b + 1] - y, vertices[b + 2] - z];
      const [vx, vy, vz] = [vertices[c] - x, vertices[c + 1] - y, vertices[c + 2] - z];
      const [nx, ny, nz] = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
      const long = Math.sqrt(nx * nx + ny * ny + nz * nz) || 1;
      this.flats.set([nx / long, ny / long, nz / long, (nx * x + ny * y + nz * z) / long], put);
    }
    return this.flats;
  }

  // Edges that can ever be seen, 4 whole numbers each: both ends, then the triangle at either side.
  // A border has none at its second side; a crease has its second one below nought, as -2 - it.
  get edges() {
    if (this.found) return this.found;
    const out = [];
    if (this.stroked) for (let i = 0; i < this.vertices.length / 3; i += 2) out.push(i, i + 1, 0, BORDER);
    const open = new Map();
    const most = this.vertices.length;
    const { faces, planes } = this;
    for (let at = 0; at < faces.length; at += 1) {
      const face = Math.floor(at / 3);
      const [a, b] = [faces[at], faces[at % 3 === 2 ? at - 2 : at + 1]];
      const key = a < b ? a * most + b : b * most + a;
      const other = open.get(key);
      if (other === undefined) {
        open.set(key, face);
        continue;
      }
      open.delete(key);
      const [p, q] = [4 * face, 4 * other];
      const even = planes[p] * planes[q] + planes[p + 1] * planes[q + 1] + planes[p + 2] * planes[q + 2];
      if (even < FLAT) out.push(a, b, face, even < CREASE ? -2 - other : other);
    }
    for (const [key, face] of open) out.push(Math.floor(key / most), key % most, face, BORDER);
    this.found = new Int32Array(out);
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
    for (const [name, told] of Object.entries(data.shapes)) if (!shapes.has(name)) shapes.set(name, new Shape(told));
    const used = new Set();
    for (const thing of [...this.bodies, ...this.lines]) {
      used.add(thing.shape);
      thing.shape = shapes.get(thing.shape);
    }
    if (shapes.size > MOST_SHAPES) for (const name of [...shapes.keys()]) if (!used.has(name)) shapes.delete(name);
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
