// What is drawn: bodies in their frames, edges found from the triangles, joints that move frames.

const CREASE = Math.cos((32 * Math.PI) / 180);

function numbers(text, Kind) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i += 1) bytes[i] = raw.charCodeAt(i);
  return new Kind(bytes.buffer);
}

class Model {
  constructor(data) {
    this.frames = data.frames;
    this.bodies = data.bodies;
    this.lines = data.lines;
    this.vertices = numbers(data.vertices, Float32Array);
    this.faces = numbers(data.faces, Uint32Array);
    this.strokes = numbers(data.strokes, Float32Array);
    this.focus = data.focus;
    this.bounds = data.bounds;
    this.joints = data.frames.filter((f) => f.joint).map((f) => f.joint);
    this.hidden = new Set();
    this.values = {};
    this.toWork();
  }

  // Every joint at its working value.
  toWork() {
    for (const joint of this.joints) this.values[joint.name] = joint.value;
  }

  // World matrix of every frame; a parent always comes before its children.
  worlds() {
    const found = [];
    for (const frame of this.frames) {
      let world = frame.parent < 0 ? frame.placement : times(found[frame.parent], frame.placement);
      if (frame.joint) world = times(world, jointMotion(frame.joint, this.values[frame.joint.name]));
      found.push(world);
    }
    return found;
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

  // Edges of a body that can ever be seen, 12 numbers each: both ends, both normals. An edge with
  // one face only is a border: its second normal is nought, which the shader always draws.
  edges(body) {
    const open = new Map();
    const out = [];
    const add = (from, to, one, other) => out.push(...this.corner(from), ...this.corner(to), ...one, ...other);
    for (let first = body.first; first < body.first + body.count; first += 3) {
      const normal = this.normal(first);
      for (let k = 0; k < 3; k += 1) {
        const a = this.faces[first + k];
        const b = this.faces[first + ((k + 1) % 3)];
        const key = a < b ? `${a},${b}` : `${b},${a}`;
        const other = open.get(key);
        if (other === undefined) {
          open.set(key, normal);
        } else {
          open.delete(key);
          if (dot(normal, other) < 0.9999) add(a, b, normal, other);
        }
      }
    }
    for (const [key, normal] of open) {
      const [a, b] = key.split(",").map(Number);
      add(a, b, normal, [0, 0, 0]);
    }
    return out;
  }

  shown(thing) {
    return !this.hidden.has(thing.group);
  }
}
