// Which station lies under a place of the view: the line of sight against the bodies' triangles.

// A frame's world matrix undone, for a point and for a direction.
function within(world, from, way) {
  const d = [from[0] - world[3], from[1] - world[7], from[2] - world[11]];
  const turn = (v) => [0, 1, 2].map((c) => world[c] * v[0] + world[4 + c] * v[1] + world[8 + c] * v[2]);
  return { from: turn(d), way: turn(way) };
}

function meetsBox([low, high], { from, way }) {
  let [first, last] = [0, Infinity];
  for (let k = 0; k < 3; k += 1) {
    const [a, b] = [(low[k] - from[k]) / way[k], (high[k] - from[k]) / way[k]];
    if (Number.isNaN(a) || Number.isNaN(b)) continue;
    first = Math.max(first, Math.min(a, b));
    last = Math.min(last, Math.max(a, b));
  }
  return first <= last;
}

// How far along the line it first meets a triangle of the shape; Infinity where it misses.
function meets(shape, { from, way }) {
  let nearest = Infinity;
  for (let first = 0; first < shape.faces.length; first += 3) {
    const [a, b, c] = [0, 1, 2].map((k) => shape.corner(shape.faces[first + k]));
    const [u, v] = [minus(b, a), minus(c, a)];
    const p = [way[1] * v[2] - way[2] * v[1], way[2] * v[0] - way[0] * v[2], way[0] * v[1] - way[1] * v[0]];
    const scale = dot(u, p);
    if (Math.abs(scale) < 1e-12) continue;
    const s = minus(from, a);
    const one = dot(s, p) / scale;
    if (one < 0 || one > 1) continue;
    const q = [s[1] * u[2] - s[2] * u[1], s[2] * u[0] - s[0] * u[2], s[0] * u[1] - s[1] * u[0]];
    const other = dot(way, q) / scale;
    if (other < 0 || one + other > 1) continue;
    const far = dot(v, q) / scale;
    if (far > 0 && far < nearest) nearest = far;
  }
  return nearest;
}

// The solid body that is seen there: its station's name (empty for the bar) and the point; or null.
function seenAt(model, ray) {
  const worlds = model.worlds();
  let found = null;
  let nearest = Infinity;
  for (const body of model.bodies) {
    if (body.opacity < 1 || !model.shown(body)) continue;
    const local = within(worlds[body.frame], ray.from, ray.way);
    if (!meetsBox(body.shape.box, local)) continue;
    const far = meets(body.shape, local);
    if (far < nearest) {
      nearest = far;
      found = { station: body.station, point: along(ray.from, ray.way, far) };
    }
  }
  return found;
}

// Where a line comes nearest to a line of sight, in mm from its start; null where both run alike.
function nearestAlong({ middle: start, left }, { from, way }) {
  const b = dot(left, way);
  if (1 - b * b < 0.02) return null;
  const w = minus(start, from);
  return (b * dot(w, way) - dot(w, left)) / (1 - b * b);
}
