// Numbers, lines and values over the 3D view, drawn as SVG so that they stay sharp.

const SVG = "http://www.w3.org/2000/svg";
const SHAPES = {
  fail: "M-5-11H5L11-5V5L5 11H-5L-11 5V-5z",
  open: "M-10-10H10V10H-10z",
  advise: "M0-14L14 10H-14z",
  pass: "M0-11A11 11 0 1 1 0 11 11 11 0 0 1 0-11z",
};

function drawn(name, attributes, parent, text = "") {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text) made.textContent = text;
  parent.append(made);
  return made;
}

class Marks {
  constructor(svg, findings, select) {
    Object.assign(this, { svg, findings, select, chosen: null });
  }

  // `labels` are places in the rig with the words that belong there.
  draw(view, width, height, labels = []) {
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.svg.replaceChildren();
    this.label(view, labels, width, height);
    const taken = [];
    for (const finding of this.findings) {
      if (finding === this.chosen || (this.chosen === null && finding.kind !== "pass")) {
        const ends = finding.at.map((p) => this.place(view, p, width, height)).filter((p) => p);
        if (ends.length) this.mark(finding, ends, taken, width, height);
      }
    }
  }

  // Words over their places, moved up until none covers another.
  label(view, labels, width, height) {
    const boxes = [];
    const placed = labels.map((label) => ({ ...label, spot: this.place(view, label.at, width, height) }));
    for (const { spot, words } of placed.filter((p) => p.spot).sort((p, q) => q.spot[1] - p.spot[1])) {
      const half = 3.6 * words.length + 5;
      const x = clamp(spot[0], half, width - half);
      let y = spot[1] - 26;
      const near = (b) => Math.abs(b.x - x) < b.half + half && Math.abs(b.y - y) < 17;
      while (boxes.some(near)) y -= 17;
      if (y < 12) continue;
      boxes.push({ x, y, half });
      const group = drawn("g", { class: "label" }, this.svg);
      drawn("line", { x1: spot[0], y1: spot[1], x2: x, y2: y + 4 }, group);
      drawn("text", { x, y: y + 1, "text-anchor": "middle" }, group, words);
    }
  }

  place(view, point, width, height) {
    const [x, y, , w] = moved(view, point);
    if (w <= 0) return null;
    return [(0.5 + x / w / 2) * width, (0.5 - y / w / 2) * height];
  }

  mark(finding, ends, taken, width, height) {
    const group = drawn("g", { class: `mark ${finding.kind}` }, this.svg);
    group.addEventListener("click", () => this.select(finding));
    const [first, last] = [ends[0], ends[ends.length - 1]];
    if (finding === this.chosen) {
      for (const kind of ["halo", "line"]) {
        drawn("line", { class: kind, x1: first[0], y1: first[1], x2: last[0], y2: last[1] }, group);
      }
      for (const [x, y] of ends) drawn("circle", { class: "end", cx: x, cy: y, r: 4 }, group);
    }
    let [x, y] = [(first[0] + last[0]) / 2, (first[1] + last[1]) / 2];
    if (finding === this.chosen) y = Math.min(first[1], last[1]) - 26; // clear of the line's ends
    while (taken.some(([a, b]) => Math.hypot(a - x, b - y) < 22)) x += 23;
    x = clamp(x, 16, width - 16);
    y = clamp(y, 18, height - 16);
    taken.push([x, y]);
    const badge = drawn("g", { transform: `translate(${x} ${y})` }, group);
    drawn("path", { class: "shape", d: SHAPES[finding.kind] }, badge);
    drawn("text", { class: "number", y: finding.kind === "advise" ? 6 : 4 }, badge, String(finding.number));
    if (finding === this.chosen && finding.told) {
      drawn("text", { class: "told", x: x > width - 150 ? -18 : 18, y: 5, "text-anchor": x > width - 150 ? "end" : "start" }, badge, finding.told);
    }
    drawn("title", {}, badge, `${finding.number} ${finding.word}: ${finding.message}`);
  }
}
