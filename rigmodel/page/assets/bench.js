// The bench: sends what the fitter does, one thing after the other, and shows what comes back.

const HEADERS = { "Content-Type": "application/json", "X-Rigmodel": "1" };

class Bench {
  constructor(session) {
    this.base = `/s/${session}`;
    this.session = session;
    this.stage = new Stage();
    this.carrier = new Carrier(this.stage, (station, to) => this.ask("place", { index: station.index, name: station.name, to }));
    this.state = { version: 0, stamp: -1 };
    this.queue = [];
    this.busy = false;
    this.drawn = -1;
  }

  async begin() {
    this.stage.listen();
    this.listen();
    if (matchMedia("(max-width: 760px)").matches) byId("unchecked").open = false; // the numbers come next
    await this.refresh();
    this.online = true;
    this.follow();
  }

  async refresh() {
    const answer = await fetch(`${this.base}/state`);
    if (!answer.ok) throw new Error(await answer.text());
    this.show(await answer.json());
  }

  // Waits for what other tabs do and for remedies, for as long as the page is open.
  async follow() {
    for (;;) {
      try {
        const answer = await fetch(`${this.base}/news?stamp=${this.state.stamp}`);
        if (!answer.ok) throw new Error("no answer");
        const { stamp } = await answer.json();
        // What this tab has changed itself comes with the answer to the change.
        if (stamp !== this.state.stamp) await new Promise((done) => setTimeout(done, 150));
        if (stamp !== this.state.stamp && !this.busy) await this.refresh();
        this.connected(true);
      } catch {
        this.connected(false);
        await new Promise((done) => setTimeout(done, 1500));
      }
    }
  }

  connected(yes) {
    if (yes === this.online) return;
    this.online = yes;
    this.kept();
    if (yes && this.state.stamp >= 0) this.refresh().catch(() => this.connected(false));
  }

  kept() {
    const s = this.state;
    let words = "Kept on this machine.";
    if (s.origin) words += s.unsaved ? ` Not yet saved to ${s.origin}.` : ` The same as ${s.origin}.`;
    if (this.online === false) words = "The server does not answer; nothing can be changed until it does.";
    byId("kept").textContent = words;
  }

  // A state older than what is shown came by a slower way and is dropped.
  show(state, model = null) {
    if (state.stamp < this.state.stamp && state.version <= this.state.version) return;
    const before = this.state;
    this.state = state;
    byId("undo").disabled = state.undo === 0;
    byId("redo").disabled = state.redo === 0;
    if (byId("units").value !== state.units) byId("units").value = state.units; // browsers read all fields again
    byId("save").hidden = !state.origin;
    byId("save").disabled = !state.unsaved;
    fill("faults", state.faults);
    fill("lines", state.lines);
    const text = byId("text");
    if (document.activeElement !== text || text.value === before.text) text.value = state.text;
    this.kept();
    document.body.classList.toggle("broken", state.broken);
    for (const side of document.querySelectorAll(".controls-side, .findings-side")) side.inert = state.broken;
    if (state.broken) {
      byId("title").textContent = "This scene cannot be read yet";
      byId("verdict").textContent = "What is wrong stands beside the scene's text; the picture and the findings are those of before.";
      byId("text-fold").open = true;
      if (!before.broken) byId("title-text").scrollIntoView({ block: "start" });
      return;
    }
    if (model && model.stamp === state.stamp) this.take(model);
    else this.draw(); // the server makes the model while the rest of the page is filled
    byId("title").textContent = state.title;
    document.title = `${state.word}: ${state.title}`;
    fill("verdict", `${state.verdict} <span>${state.counts}</span>`); // only a change is spoken
    fill("verdict-small", state.verdict);
    for (const [id, html] of [
      ["findings", state.findings], ["controls", state.controls], ["stations", state.stations],
      ["coverage", state.coverage], ["not-checked", state.notChecked], ["motions", state.motions],
      ["groups", state.groups],
    ]) fill(id, html);
    byId("not-checked-count").textContent = `(${byId("not-checked").querySelectorAll("[data-reason]").length})`;
    if (this.stage.model) this.stage.press();
    this.weigh();
    for (const fold of document.querySelectorAll("details.pictures[open]")) this.picture(fold);
    this.remember();
  }

  async draw() {
    if (this.drawing) return;
    this.drawing = true;
    try {
      while (this.drawn !== this.state.stamp) {
        const known = [...this.stage.shapes.keys()].join(".");
        const answer = await fetch(`${this.base}/model?known=${known}`);
        const data = await answer.json();
        if (data === null) return;
        if (!(data.stamp < this.drawn)) this.take(data);
        if (data.stamp < this.state.stamp) continue;
        break;
      }
    } catch {
      this.connected(false);
    } finally {
      this.drawing = false;
    }
  }

  take(model) {
    this.stage.take(model);
    this.carrier.renew(model);
    this.drawn = model.stamp;
    byId("stage").dataset.stamp = model.stamp;
  }

  // Pictures are asked for only where somebody opens their fold.
  async picture(fold) {
    const box = fold.querySelector(".picks");
    if (!fold.open || box.dataset.stamp === String(this.state.stamp)) return;
    box.dataset.stamp = this.state.stamp;
    try {
      const answer = await fetch(`${this.base}/choices?path=${encodeURIComponent(fold.dataset.choices)}`);
      if (answer.ok) box.innerHTML = await answer.text();
    } catch {
      this.connected(false);
    }
  }

  pick(button) {
    const path = JSON.parse(button.dataset.at);
    const add = path.length === 2 ? byId("add-use") : null;
    if (add) add.value = button.dataset.pick;
    else this.ask("set", { path, typed: button.dataset.pick });
    if (add) for (const one of button.parentNode.children) one.setAttribute("aria-pressed", String(one === button));
  }

  // Weights and forces are asked for only while somebody looks at them.
  async weigh() {
    if (!byId("loads-fold").open || this.weighed === this.state.stamp || this.state.broken) return;
    this.weighed = this.state.stamp;
    try {
      const answer = await fetch(`${this.base}/loads`);
      if (answer.ok) fill("loads", await answer.text());
      else this.weighed = -1;
    } catch {
      this.weighed = -1;
      this.connected(false);
    }
  }

  // Names and addresses of scenes, kept in this browser only.
  remember() {
    const known = recent().filter((item) => item.id !== this.session);
    known.unshift({ id: this.session, title: this.state.title });
    try {
      localStorage.setItem("rigmodel-recent", JSON.stringify(known.slice(0, 12)));
    } catch {
      // the browser keeps nothing; the address still leads here
    }
  }

  ask(what, more = {}, fault = null) {
    const last = this.queue[this.queue.length - 1];
    const same = last && what === "nudge" && last.what === what && JSON.stringify(last.more.path) === JSON.stringify(more.path);
    if (same) last.more.count += more.count;
    else this.queue.push({ what, more, fault });
    this.work();
  }

  async work() {
    if (this.busy) return;
    this.busy = true;
    this.stage.hasten(true);
    while (this.queue.length) {
      const { what, more, fault } = this.queue.shift();
      const began = performance.now();
      const shapes = [...this.stage.shapes.keys()];
      const body = JSON.stringify({ what, version: this.state.version, shapes, ...more });
      try {
        const answer = await fetch(`${this.base}/do`, { method: "POST", headers: HEADERS, body });
        const { message, state, model } = await answer.json();
        if (answer.status === 409) {
          this.queue.length = 0;
          written.clear(); // nothing that was typed stays: the newest state is shown, whole
        }
        if (!answer.ok) this.carrier.cancel();
        if (state) this.show(state, model);
        this.complain(answer.ok ? "" : message, answer.status === 409 ? null : fault);
        if (answer.ok && message) this.stage.says.textContent = message;
        byId("stage").dataset.took = String(Math.round(performance.now() - began));
      } catch {
        this.queue.length = 0;
        this.carrier.cancel();
        this.connected(false);
        this.complain("The server did not answer; this change was not made.", fault);
      }
    }
    this.busy = false;
    this.stage.hasten(false);
  }

  // Beside the field where there is one, else at the top. What was typed stays to be corrected.
  complain(message, fault) {
    const all = fault && byId(fault.id + "-fault");
    byId("wrong").textContent = all ? "" : message;
    if (!all) return;
    const field = byId(fault.id);
    all.textContent = message;
    field.setAttribute("aria-invalid", String(message !== ""));
    if (message) field.value = fault.typed;
  }

  listen() {
    document.addEventListener("change", (event) => {
      const field = event.target.closest("[data-path]");
      if (!field || field.dataset.sent === field.value) return;
      field.dataset.sent = field.value;
      this.ask("set", { path: JSON.parse(field.dataset.path), typed: field.value }, { id: field.id, typed: field.value });
    });
    document.addEventListener("keydown", (event) => this.key(event));
    document.addEventListener("click", (event) => this.click(event.target));
    byId("units").addEventListener("change", (event) => this.ask("speak", { unit: event.target.value }));
    for (const what of ["undo", "redo", "save"]) byId(what).addEventListener("click", () => this.ask(what));
    document.addEventListener("toggle", (event) => {
      if (event.target.matches("details.pictures")) this.picture(event.target);
    }, true);
    byId("loads-fold").addEventListener("toggle", () => this.weigh());
    byId("take-text").addEventListener("click", () => this.ask("text", { text: byId("text").value }));
  }

  key(event) {
    const field = event.target.closest ? event.target.closest("input[data-path]") : null;
    if (field && event.key === "Enter") field.blur(), field.focus();
    if (field && field.dataset.kind === "length" && ["ArrowUp", "ArrowDown"].includes(event.key)) {
      event.preventDefault();
      const count = event.key === "ArrowUp" ? 1 : -1;
      this.ask("nudge", { path: JSON.parse(field.dataset.path), count }, { id: field.id, typed: field.value });
    }
    if (event.target.matches && event.target.matches("input[type=text], textarea")) return;
    if (!(event.ctrlKey || event.metaKey)) return;
    const key = event.key.toLowerCase();
    const what = key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : "";
    if (!what || byId(what).disabled) return;
    event.preventDefault();
    this.ask(what);
  }

  click(target) {
    const remedy = target.closest("[data-remedy]");
    if (remedy) {
      const [check, parts] = JSON.parse(remedy.dataset.remedy);
      this.ask("remedy", { check, parts });
    }
    const station = target.closest("[data-station]");
    if (station) {
      const { dataset } = station;
      this.ask(dataset.do, { index: Number(dataset.station), count: Number(dataset.count) });
    }
    const grow = target.closest("[data-grow]");
    if (grow) this.ask("list-add", { list: grow.dataset.grow });
    const shrink = target.closest("[data-shrink]");
    if (shrink) this.ask("list-remove", { list: shrink.dataset.shrink, index: Number(shrink.dataset.index) });
    const chosen = target.closest("[data-choose]");
    if (chosen && this.stage.model) {
      const station = this.stage.model.stations.find((s) => s.index === Number(chosen.dataset.choose));
      if (station) this.carrier.choose(station.name);
      byId("view").scrollIntoView({ block: "nearest" });
      this.carrier.grip.focus();
    }
    if (target.closest("#add-station")) this.ask("add", { use: byId("add-use").value, at: byId("add-at").value });
    const pick = target.closest("[data-pick]");
    if (pick) this.pick(pick);
    const line = target.closest("[data-line]");
    if (line) this.toLine(Number(line.dataset.line));
  }

  toLine(number) {
    byId("text-fold").open = true;
    const text = byId("text");
    const lines = text.value.split("\n");
    const from = lines.slice(0, number - 1).reduce((sum, line) => sum + line.length + 1, 0);
    text.focus();
    text.setSelectionRange(from, from + (lines[number - 1] || "").length);
    const item = byId(`line-${number}`);
    if (item) item.scrollIntoView({ block: "nearest" });
  }
}

function recent() {
  try {
    const found = JSON.parse(localStorage.getItem("rigmodel-recent") || "[]");
    return found.filter((item) => /^[\w-]{22}$/.test(item.id) && typeof item.title === "string");
  } catch {
    return [];
  }
}
