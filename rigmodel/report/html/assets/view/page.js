// Joins the 3D view with the page: buttons, sliders, the list of findings, printing.

const CUTS = { across: [1, 0, 0], along: [0, 1, 0], level: [0, 0, 1] };

function start() {
  const data = JSON.parse(document.getElementById("model-data").textContent);
  const stage = document.getElementById("stage");
  const canvas = document.getElementById("canvas");
  const says = document.getElementById("says");
  const picture = document.getElementById("picture");
  const model = new Model(data);
  let painter;
  try {
    painter = new Painter(canvas, model);
  } catch (error) {
    stage.dataset.state = "none";
    says.textContent = `No 3D view: ${error.message}. Everything else on this page holds.`;
    return;
  }
  const camera = new Camera(model.focus);
  const cut = { kind: "none", share: 0.5, flip: false };
  const background = rgb(getComputedStyle(document.documentElement).getPropertyValue("--stage").trim());
  const marks = new Marks(document.getElementById("marks"), data.findings, (finding) => select(finding));
  let waiting = false;

  function cutPlane() {
    const normal = CUTS[cut.kind];
    if (!normal) return { cutOn: false, plane: [0, 0, 0, 1], cutSheet: [] };
    const way = cut.flip ? -1 : 1;
    const [low, high] = [dot(normal, model.focus[0]) - 5, dot(normal, model.focus[1]) + 5];
    const place = blend(low, high, cut.share);
    const k = normal.indexOf(1);
    const [a, b] = [0, 1, 2].filter((i) => i !== k);
    const sheet = [[0, 0], [1, 0], [0, 1], [1, 1]].map(([s, t]) => {
      const corner = [0, 0, 0];
      corner[k] = place;
      corner[a] = blend(model.bounds[0][a] - 500, model.bounds[1][a] + 500, s);
      corner[b] = blend(model.bounds[0][b] - 500, model.bounds[1][b] + 500, t);
      return corner;
    });
    return { cutOn: true, plane: [...normal.map((x) => x * way), place * way], cutSheet: sheet };
  }

  function paint() {
    waiting = false;
    const [wide, high] = [stage.clientWidth, stage.clientHeight];
    const dense = Math.min(window.devicePixelRatio || 1, 2.5);
    const pixels = [Math.max(1, Math.round(wide * dense)), Math.max(1, Math.round(high * dense))];
    if (canvas.width !== pixels[0] || canvas.height !== pixels[1]) [canvas.width, canvas.height] = pixels;
    camera.aspect = pixels[0] / pixels[1];
    const seen = camera.seen(model.bounds);
    const { cutOn, plane, cutSheet } = cutPlane();
    painter.draw({
      background,
      cutOn,
      cutSheet,
      stroke: 1.0 * dense,
      uniforms: {
        u_view: seen.view,
        u_eye: seen.eye,
        u_toward: seen.toward,
        u_light: seen.light,
        u_target: camera.target,
        u_cut: plane,
        u_pull: camera.flat ? 4e-4 : 2e-4,
      },
    });
    marks.draw(seen.view, wide, high);
    stage.dataset.state = "drawn";
  }

  function redraw() {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(paint);
  }

  const flight = new Flight(camera, model.values, redraw);
  const atWork = () => Object.fromEntries(model.joints.map((joint) => [joint.name, joint.value]));

  function view(name) {
    press("[data-view]", (button) => button.dataset.view === name);
    flight.to(camera.fitted(name), {});
  }

  function press(what, chosen) {
    for (const button of document.querySelectorAll(what)) {
      button.setAttribute("aria-pressed", String(chosen(button)));
    }
  }

  function toWork(place = camera) {
    marks.chosen = null;
    press("[data-finding]", () => false);
    for (const slider of document.querySelectorAll("[data-motion]")) resetSlider(slider);
    flight.to({ ...place }, atWork());
    says.textContent = "The rig stands at work.";
  }

  function select(finding) {
    if (marks.chosen === finding) {
      toWork();
      return;
    }
    marks.chosen = finding;
    press("[data-finding]", (button) => Number(button.dataset.finding) === finding.number);
    press("[data-view]", () => false);
    for (const slider of document.querySelectorAll("[data-motion]")) resetSlider(slider);
    flight.to(closeTo(finding), { ...atWork(), ...finding.pose });
    const posed = Object.keys(finding.pose).length ? " The rig stands as it does where this happens." : "";
    says.textContent = `Finding ${finding.number}, ${finding.word}: ${finding.message}${posed}`;
    const item = document.getElementById(`finding-${finding.number}`);
    const list = item.parentElement;
    if (list.scrollHeight > list.clientHeight + 4) {
      list.scrollTop = item.offsetTop - list.offsetTop - 12;
    }
  }

  // A place to see both points from; a line seen end on is looked at from the side.
  function closeTo(finding) {
    const [a, b] = [finding.at[0], finding.at[finding.at.length - 1]];
    const line = minus(b, a);
    const long = size(line);
    let { turn, rise } = camera;
    rise = clamp(rise, 12, 60);
    if (long > 1e-6 && Math.abs(dot(line, Camera.axes(turn, rise).back)) > 0.8 * long) turn += 55;
    return { turn, rise, target: middle(a, b), half: clamp(1.6 * long, 220, 900) };
  }

  function resetSlider(slider) {
    slider.value = 0;
    tellSlider(slider);
  }

  function tellSlider(slider) {
    const share = Number(slider.value);
    const words = share === 0 ? "at work" : `${Math.abs(share)} % to ${share < 0 ? slider.dataset.low : slider.dataset.high}`;
    slider.setAttribute("aria-valuetext", words);
    slider.parentElement.querySelector("output").textContent = words;
  }

  function setSlider(slider) {
    const share = Number(slider.value) / 100;
    flight.stop();
    for (const joint of model.joints.filter((j) => j.kind === slider.dataset.motion)) {
      model.values[joint.name] = blend(joint.value, share < 0 ? joint.low : joint.high, Math.abs(share));
    }
    tellSlider(slider);
    redraw();
  }

  for (const button of document.querySelectorAll("[data-view]")) {
    button.addEventListener("click", () => view(button.dataset.view));
  }
  for (const button of document.querySelectorAll("button[data-finding]")) {
    const finding = data.findings.find((f) => f.number === Number(button.dataset.finding));
    button.addEventListener("click", () => select(finding));
  }
  for (const box of document.querySelectorAll("[data-group]")) {
    const show = () => {
      if (box.checked) model.hidden.delete(box.dataset.group);
      else model.hidden.add(box.dataset.group);
      redraw();
    };
    box.addEventListener("change", show);
    if (!box.checked) model.hidden.add(box.dataset.group);
  }
  for (const slider of document.querySelectorAll("[data-motion]")) {
    slider.addEventListener("input", () => setSlider(slider));
    resetSlider(slider);
  }
  document.getElementById("flat").addEventListener("change", (event) => {
    camera.flat = event.target.checked;
    redraw();
  });
  document.getElementById("work").addEventListener("click", () => toWork());
  const slider = document.getElementById("cut-place");
  document.getElementById("cut").addEventListener("change", (event) => {
    cut.kind = event.target.value;
    slider.disabled = document.getElementById("cut-flip").disabled = cut.kind === "none";
    redraw();
  });
  slider.addEventListener("input", () => {
    cut.share = Number(slider.value) / 100;
    redraw();
  });
  document.getElementById("cut-flip").addEventListener("change", (event) => {
    cut.flip = event.target.checked;
    redraw();
  });

  handle(canvas, camera, {
    grab: () => {
      flight.stop();
      press("[data-view]", () => false);
    },
    redraw,
    view,
  });

  // A canvas prints black or not at all; its picture is printed instead.
  const snap = () => {
    paint();
    picture.src = canvas.toDataURL("image/png");
  };
  window.addEventListener("beforeprint", snap);

  canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
  canvas.addEventListener("webglcontextrestored", () => {
    painter = new Painter(canvas, model);
    redraw();
  });
  new ResizeObserver(redraw).observe(stage);
  camera.aspect = stage.clientWidth / Math.max(stage.clientHeight, 1);
  Object.assign(camera, camera.fitted("three-quarter"));
  stage.dataset.state = "ready";
  snap();
}

start();
