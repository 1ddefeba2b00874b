// Tries the page as a person would and writes what it found into an element of its own.
(() => {
  const result = {};
  const at = (id) => document.getElementById(id);
  const canvas = at("canvas");
  Object.assign(at("stage").style, { width: "420px", height: "260px" }); // few pixels: no GPU here

  // The page paints anew before it is printed; right after that the canvas still holds its picture.
  const flat = document.createElement("canvas");
  const pen = flat.getContext("2d", { willReadFrequently: true });
  function pixels() {
    window.dispatchEvent(new Event("beforeprint"));
    [flat.width, flat.height] = [canvas.width, canvas.height];
    pen.drawImage(canvas, 0, 0);
    return pen.getImageData(0, 0, flat.width, flat.height).data;
  }

  function print(data) {
    let sum = 2166136261;
    for (let i = 0; i < data.length; i += 4) {
      sum = Math.imul(sum ^ data[i] ^ (data[i + 1] << 8) ^ (data[i + 2] << 16), 16777619) >>> 0;
    }
    return sum;
  }

  const look = () => print(pixels());
  const change = (element, what = "change") => element.dispatchEvent(new Event(what, { bubbles: true }));
  const key = (name, more = {}) => canvas.dispatchEvent(new KeyboardEvent("keydown", { key: name, cancelable: true, ...more }));

  const first = pixels();
  const colours = new Map();
  for (let i = 0; i < first.length; i += 4) {
    const colour = `${first[i]},${first[i + 1]},${first[i + 2]}`;
    colours.set(colour, (colours.get(colour) || 0) + 1);
  }
  result.colours = colours.size;
  result.drawn = 1 - Math.max(...colours.values()) / (first.length / 4);
  [result.width, result.height] = [at("stage").clientWidth, at("stage").clientHeight];

  result.views = [];
  for (const button of document.querySelectorAll("[data-view]")) {
    button.click();
    result.views.push(look());
  }
  document.querySelector("[data-view]").click();
  const home = look();

  result.keys = {};
  for (const [name, more] of [["ArrowLeft", {}], ["ArrowUp", { shiftKey: true }], ["+", {}], ["2", {}]]) {
    document.querySelector("[data-view]").click();
    look();
    key(name, more);
    result.keys[(more.shiftKey ? "Shift+" : "") + name] = look() !== home;
  }

  document.querySelector("[data-view]").click();
  const button = document.querySelector("button[data-finding]");
  button.click();
  const close = look();
  result.chosen = {
    moved: close !== home,
    says: at("says").textContent,
    marks: document.querySelectorAll("#marks .mark").length,
    pressed: [...document.querySelectorAll('[data-finding][aria-pressed="true"]')].map((b) => b.dataset.finding),
    ends: [...document.querySelectorAll("#marks .end")].map((c) => [Number(c.getAttribute("cx")), Number(c.getAttribute("cy"))]),
  };
  at("work").click();
  look();
  result.chosen.back = document.querySelectorAll('[data-finding][aria-pressed="true"]').length;
  document.querySelector("[data-view]").click();

  const stripes = () => {
    const data = pixels();
    let count = 0;
    for (let i = 0; i < data.length; i += 4) {
      const near = (r, g, b) => Math.abs(data[i] - r) + Math.abs(data[i + 1] - g) + Math.abs(data[i + 2] - b) < 6;
      if (near(250, 219, 178)) count += 1;
    }
    return count;
  };
  result.cut = { before: stripes() };
  at("cut").value = "along";
  change(at("cut"));
  at("cut-place").value = 60;
  change(at("cut-place"), "input");
  document.querySelector('[data-view="left"]').click();
  result.cut.after = stripes();
  at("cut").value = "none";
  change(at("cut"));
  document.querySelector("[data-view]").click();

  result.motion = [];
  for (const slider of document.querySelectorAll("[data-motion]")) {
    slider.value = slider.max > 0 ? 100 : -100;
    change(slider, "input");
    const told = slider.closest(".slider").querySelector("output").textContent;
    result.motion.push({ moved: look() !== home, told });
    slider.value = 0;
    change(slider, "input");
  }

  result.groups = {};
  for (const box of document.querySelectorAll("[data-group]")) {
    box.click();
    result.groups[box.dataset.group] = look() !== home;
    box.click();
  }

  result.more = {};
  for (const box of document.querySelectorAll("[data-ghosts], #labels")) {
    const before = [look(), at("marks").childElementCount];
    box.click();
    const after = [look(), at("marks").childElementCount];
    result.more[box.dataset.ghosts || box.id] = after[0] !== before[0] || after[1] > before[1];
    box.click();
  }

  const one = at("one-float");
  if (one) {
    one.value = one.options[1].value;
    change(one);
    at("motion-float").value = 100;
    change(at("motion-float"), "input");
    const alone = look();
    one.value = "";
    change(one);
    at("motion-float").value = 100;
    change(at("motion-float"), "input");
    result.alone = alone !== home && look() !== alone;
    at("work").click();
  }

  const share = (s) => (s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4);
  const light = ([r, g, b]) => 0.2126 * share(r / 255) + 0.7152 * share(g / 255) + 0.0722 * share(b / 255);
  const parse = (text) => (text.match(/[\d.]+/g) || []).map(Number);
  const behind = (element) => {
    for (let e = element; e; e = e.parentElement) {
      const colour = parse(getComputedStyle(e).backgroundColor);
      if (colour.length === 3 || colour[3] === 1) return colour;
    }
    return [255, 255, 255];
  };
  result.texts = 0;
  result.faint = [];
  for (const element of document.body.querySelectorAll("*")) {
    const own = [...element.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
    if (!own || element.closest("svg") || !element.getClientRects().length || element.disabled) continue;
    const style = getComputedStyle(element);
    const [a, b] = [light(parse(style.color)), light(behind(element))].sort((p, q) => p - q);
    const large = parseFloat(style.fontSize) >= 24 || (parseFloat(style.fontSize) >= 18.66 && style.fontWeight >= 700);
    const ratio = (b + 0.05) / (a + 0.05);
    result.texts += 1;
    if (ratio < (large ? 3 : 4.5)) result.faint.push([element.outerHTML.slice(0, 80), ratio]);
  }

  const controls = [...document.querySelectorAll("button, input, select, summary, canvas, a[href]")];
  const named = (e) => e.getAttribute("aria-label") || (e.labels && [...e.labels].map((l) => l.textContent).join("")) || e.textContent;
  const target = (e) => (e.type === "checkbox" ? e.closest("label") : e).getBoundingClientRect();
  result.controls = controls.length;
  result.nameless = controls.filter((e) => !named(e).trim()).map((e) => e.outerHTML.slice(0, 80));
  result.small = controls
    .filter((e) => e.tagName !== "A" && (target(e).width < 24 || target(e).height < 24))
    .map((e) => e.outerHTML.slice(0, 80));

  const out = document.createElement("pre");
  out.id = "probe";
  out.textContent = JSON.stringify(result);
  document.body.append(out);
})();
