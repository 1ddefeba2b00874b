// Bodies that are drawn together: their triangles in one set, in world space, and of their edges
// those that are seen. One call draws them all, however many they are; the vertices are moved here,
// once for each place of the frames, and edges are chosen here, once for each place of the eye.

const STROKE_NUMBERS = 7; // of a stroke's corner: the end it lies at, the other end, its colour

function packed(colour) {
  const [r, g, b, a] = colour.map((x) => Math.round(255 * clamp(x, 0, 1)));
  return (r | (g << 8) | (b << 16) | (a << 24)) >>> 0; // bytes in this order in memory
}

// Strokes of many batches one after another, four corners each; grows as it must.
class Strokes {
  constructor() {
    this.count = 0;
    this.room(4096);
  }

  room(more) {
    const needed = (this.count + more) * 4 * STROKE_NUMBERS;
    if (this.floats && needed <= this.floats.length) return;
    const before = this.floats;
    const buffer = new ArrayBuffer(4 * Math.max(needed, before ? 2 * before.length : 0));
    this.floats = new Float32Array(buffer);
    this.words = new Uint32Array(buffer);
    if (before) this.floats.set(before);
  }

  get written() {
    return this.floats.subarray(0, this.count * 4 * STROKE_NUMBERS);
  }
}

class Batch {
  constructor() {
    this.things = [];
    this.style = "";
    this.what = 0; // rises with what it holds
    this.edition = 0; // rises with any change
    this.fill(() => {});
  }

  // Holds these bodies, or lines, with the colours that `paint` gives for one: of its faces and of
  // its edges. `style` names that manner of painting.
  hold(things, style, paint) {
    const same = (a, b) => a.shape === b.shape && a.colour === b.colour && a.edge === b.edge && a.opacity === b.opacity;
    const alike = style === this.style && things.length === this.things.length && things.every((t, i) => same(t, this.things[i]));
    this.things = things;
    if (alike) return;
    this.style = style;
    this.what += 1;
    this.edition += 1;
    this.fill(paint);
  }

  fill(paint) {
    const { things } = this;
    this.worlds = null;
    this.starts = [];
    let [vertices, indices] = [0, 0];
    for (const { shape } of things) {
      this.starts.push(vertices);
      vertices += shape.vertices.length / 3;
      indices += shape.faces.length;
    }
    this.places = new Float32Array(3 * vertices);
    this.colours = new Uint32Array(vertices);
    this.indices = new Uint32Array(indices);
    this.facing = new Uint8Array(indices / 3);
    this.inFront = new Uint32Array(indices);
    this.edgeColours = new Uint32Array(things.length);
    let put = 0;
    for (const [i, thing] of things.entries()) {
      const { faces, vertices: own } = thing.shape;
      const start = this.starts[i];
      const { face, edge } = paint(thing);
      this.colours.fill(packed(face), start, start + own.length / 3);
      this.edgeColours[i] = packed(edge);
      for (let k = 0; k < faces.length; k += 1) this.indices[put + k] = faces[k] + start;
      put += faces.length;
    }
  }

  // Puts every body where its frame stands.
  place(worlds) {
    const { things, places } = this;
    const before = this.worlds;
    let moved = false;
    this.worlds = things.map((thing) => worlds[thing.frame]);
    for (const [i, { shape }] of things.entries()) {
      const m = this.worlds[i];
      if (before && m.every((x, k) => x === before[i][k])) continue;
      moved = true;
      const own = shape.vertices;
      for (let k = 0, put = 3 * this.starts[i]; k < own.length; k += 3, put += 3) {
        const [x, y, z] = [own[k], own[k + 1], own[k + 2]];
        places[put] = m[0] * x + m[1] * y + m[2] * z + m[3];
        places[put + 1] = m[4] * x + m[5] * y + m[6] * z + m[7];
        places[put + 2] = m[8] * x + m[9] * y + m[10] * z + m[11];
      }
    }
    if (moved) this.edition += 1;
  }

  // Finds which triangles look at the eye. The eye is a point (its fourth number is 1) or the way
  // to it (0).
  look(eye) {
    const { facing, inFront, indices } = this;
    let [face, put] = [0, 0];
    for (const [i, { shape: { planes } }] of this.things.entries()) {
      const [x, y, z, w] = seenWithin(this.worlds[i], eye);
      for (let p = 0; p < planes.length; p += 4, face += 1) {
        const seen = planes[p] * x + planes[p + 1] * y + planes[p + 2] * z > w * planes[p + 3];
        facing[face] = seen ? 1 : 0;
        if (!seen) continue;
        inFront[put] = indices[3 * face];
        inFront[put + 1] = indices[3 * face + 1];
        inFront[put + 2] = indices[3 * face + 2];
        put += 3;
      }
    }
    this.front = inFront.subarray(0, put);
  }

  // Adds the edges that are seen: borders, creases of which one face looks at the eye, and
  // outlines, where just one of both does.
  edges(strokes) {
    const { facing } = this;
    let first = 0; // of this body's triangles
    for (const [i, { shape: { edges, planes } }] of this.things.entries()) {
      strokes.room(edges.length / 4);
      for (let k = 0; k < edges.length; k += 4) {
        const other = edges[k + 3];
        if (other !== BORDER) {
          const one = facing[first + edges[k + 2]];
          if (other < 0 ? !one && !facing[first - 2 - other] : one === facing[first + other]) continue;
        }
        this.stroke(this.starts[i] + edges[k], this.starts[i] + edges[k + 1], this.edgeColours[i], strokes);
      }
      first += planes.length / 4;
    }
  }

  stroke(from, to, colour, strokes) {
    const { places } = this;
    const { floats, words } = strokes;
    let put = strokes.count * 4 * STROKE_NUMBERS;
    strokes.count += 1;
    for (let corner = 0; corner < 4; corner += 1, put += STROKE_NUMBERS) {
      const [a, b] = [3 * from, 3 * to];
      floats[put] = places[a];
      floats[put + 1] = places[a + 1];
      floats[put + 2] = places[a + 2];
      floats[put + 3] = places[b];
      floats[put + 4] = places[b + 1];
      floats[put + 5] = places[b + 2];
      words[put + 6] = colour;
    }
  }
}

// The eye in the axes of what stands at `world`.
function seenWithin(world, [ex, ey, ez, w]) {
  const [x, y, z] = [ex - w * world[3], ey - w * world[7], ez - w * world[11]];
  return [
    world[0] * x + world[4] * y + world[8] * z,
    world[1] * x + world[5] * y + world[9] * z,
    world[2] * x + world[6] * y + world[10] * z,
    w,
  ];
}
