// Mouse, touch and keys on the canvas. The wheel zooms only once the view has the focus, so that a
// page can be scrolled past it.

const KEY_VIEWS = ["three-quarter", "top", "front", "rear", "left", "right"];

const STILL_PX = 5; // a finger that strays less has tapped

// `act` says what comes of it: grab, redraw, view; and, where things can be moved by hand, `take`
// (gives what follows the pointer, or null) and `tap`.
function handle(canvas, camera, act) {
  const fingers = new Map();
  let spread = 0;
  let centre = null;
  let carried = null;
  let tapped = null;

  const gathered = () => {
    const all = [...fingers.values()];
    const x = all.reduce((sum, p) => sum + p.x, 0) / all.length;
    const y = all.reduce((sum, p) => sum + p.y, 0) / all.length;
    spread = all.length > 1 ? Math.hypot(all[0].x - all[1].x, all[0].y - all[1].y) : 0;
    centre = { x, y };
  };

  canvas.addEventListener("pointerdown", (event) => {
    canvas.focus({ preventScroll: true });
    if (event.isTrusted) canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    gathered();
    if (carried) carried.cancel(); // a second finger turns to the view
    carried = fingers.size === 1 && event.button === 0 && act.take ? act.take(event) : null;
    tapped = fingers.size === 1 && event.button === 0 ? { ...centre } : null;
    if (carried) return;
    act.grab();
  });

  canvas.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) return;
    const [before, wide] = [centre, spread];
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    gathered();
    if (tapped && Math.hypot(centre.x - tapped.x, centre.y - tapped.y) > STILL_PX) tapped = null;
    if (carried) return void carried.move(event);
    const [dx, dy] = [centre.x - before.x, centre.y - before.y];
    const high = canvas.clientHeight;
    if (fingers.size > 1) {
      camera.pan(dx / high, -dy / high);
      if (wide > 0 && spread > 0) camera.zoom(wide / spread);
    } else if (event.shiftKey || event.buttons & 6) {
      camera.pan(dx / high, -dy / high);
    } else {
      camera.orbit((-dx / high) * 180, (dy / high) * 180);
    }
    act.redraw();
  });

  const lift = (event) => {
    if (!fingers.delete(event.pointerId)) return;
    if (carried) carried[event.type === "pointerup" && !tapped ? "drop" : "cancel"]();
    carried = null;
    if (tapped && event.type === "pointerup" && act.tap) act.tap(event);
    tapped = null;
    if (fingers.size) gathered();
  };
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener("contextmenu", (event) => event.preventDefault());

  canvas.addEventListener(
    "wheel",
    (event) => {
      if (document.activeElement !== canvas) return;
      event.preventDefault();
      act.grab();
      camera.zoom(Math.exp(clamp(event.deltaY, -200, 200) * 0.002));
      act.redraw();
    },
    { passive: false },
  );

  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    const view = KEY_VIEWS[Number(event.key) - 1];
    if (arrow && event.shiftKey) camera.pan(-arrow[0] / 20, -arrow[1] / 20);
    else if (arrow) camera.orbit(arrow[0] * 7.5, arrow[1] * 7.5);
    else if (event.key === "+" || event.key === "=") camera.zoom(1 / 1.2);
    else if (event.key === "-") camera.zoom(1.2);
    else if (event.key === "Home") return void (event.preventDefault(), act.view("three-quarter"));
    else if (view) return void (event.preventDefault(), act.view(view));
    else return;
    event.preventDefault();
    act.grab();
    act.redraw();
  });
}
