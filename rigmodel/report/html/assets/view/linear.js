// Small linear algebra. Matrices are 16 numbers, row after row; points are [x, y, z] in mm.

const IDENTITY = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];

function times(a, b) {
  const out = new Array(16);
  for (let r = 0; r < 4; r += 1) {
    for (let c = 0; c < 4; c += 1) {
      let sum = 0;
      for (let k = 0; k < 4; k += 1) sum += a[4 * r + k] * b[4 * k + c];
      out[4 * r + c] = sum;
    }
  }
  return out;
}

function moved(matrix, p) {
  const [x, y, z] = p;
  return [0, 4, 8, 12].map((r) => matrix[r] * x + matrix[r + 1] * y + matrix[r + 2] * z + matrix[r + 3]);
}

// A turn about an axis through the origin (Rodrigues), or a slide along it.
function jointMotion(joint, value) {
  const [x, y, z] = joint.axis;
  if (!joint.turns) return [1, 0, 0, x * value, 0, 1, 0, y * value, 0, 0, 1, z * value, 0, 0, 0, 1];
  const angle = (value * Math.PI) / 180;
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const t = 1 - c;
  return [
    t * x * x + c, t * x * y - s * z, t * x * z + s * y, 0,
    t * x * y + s * z, t * y * y + c, t * y * z - s * x, 0,
    t * x * z - s * y, t * y * z + s * x, t * z * z + c, 0,
    0, 0, 0, 1,
  ];
}

const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const along = (a, b, k) => [a[0] + k * b[0], a[1] + k * b[1], a[2] + k * b[2]];
const size = (a) => Math.hypot(a[0], a[1], a[2]);
const middle = (a, b) => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2];
const blend = (a, b, share) => a + (b - a) * share;
const clamp = (value, low, high) => Math.min(high, Math.max(low, value));
