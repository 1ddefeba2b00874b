// Draws the model with WebGL 2: solid bodies, caps of the cut, edges, then what shows through.

const GHOST = [0.18, 0.45, 0.66];
const LIT = [0, 0.33, 0.55];
const CORNERS_IN_TURN = [0, 1, 2, 2, 1, 3]; // of both triangles of a stroke
const OWN_COLOURS = (edges) => (thing) => ({
  face: [...rgb(thing.colour), thing.opacity],
  edge: [...rgb(thing.edge || thing.colour), edges],
});

class Painter {
  constructor(canvas, model) {
    const gl = canvas.getContext("webgl2", { antialias: false, stencil: true });
    if (!gl) throw new Error("WebGL 2 is not to be had in this browser");
    Object.assign(this, { canvas, model, gl });
    this.programs = new Map();
    this.cards = new Map();
    this.strokes = new Strokes();
    this.smooth = new Smooth(gl);
    this.load();
  }

  // The program for it, made when it is first used; with what is cut away left out where `cut`.
  program(name, cut) {
    const known = this.programs.get(`${name} ${cut}`);
    if (known) return known;
    const { gl } = this;
    const [vertex, fragment, inputs] = {
      face: [FACE_VERTEX, FACE_FRAGMENT, ["a_place", "a_colour"]],
      cap: [FACE_VERTEX, CAP_FRAGMENT, ["a_place", "a_colour"]],
      edge: [EDGE_VERTEX, EDGE_FRAGMENT, ["a_from", "a_to", "a_colour"]],
    }[name];
    const program = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, `#version 300 es\n${cut ? CUT_AWAY : ""}${text}`);
      gl.compileShader(shader);
      if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader));
      gl.attachShader(program, shader);
    }
    inputs.forEach((input, i) => gl.bindAttribLocation(program, i, input));
    gl.linkProgram(program);
    if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(program));
    const uniforms = {};
    for (let i = 0; i < gl.getProgramParameter(program, gl.ACTIVE_UNIFORMS); i += 1) {
      const uniform = gl.getActiveUniform(program, i);
      uniforms[uniform.name] = gl.getUniformLocation(program, uniform.name);
    }
    const made = { program, uniforms };
    this.programs.set(`${name} ${cut}`, made);
    return made;
  }

  // Takes a program into use.
  use(name, scene, more = {}) {
    const { gl } = this;
    const { program, uniforms } = this.program(name, scene.cutOn && name !== "cap");
    gl.useProgram(program);
    for (const [what, value] of Object.entries({ ...scene.uniforms, ...more })) {
      const place = uniforms[what];
      if (place === undefined) continue;
      if (typeof value === "number") gl.uniform1f(place, value);
      else if (value.length === 16) gl.uniformMatrix4fv(place, true, value);
      else gl[`uniform${value.length}fv`](place, value);
    }
  }

  input(place, count, kind, stride, offset) {
    const { gl } = this;
    gl.enableVertexAttribArray(place);
    gl.vertexAttribPointer(place, count, kind, kind === gl.UNSIGNED_BYTE, stride, offset);
  }

  load() {
    const { gl } = this;
    this.sheet = gl.createVertexArray();
    this.sheetData = gl.createBuffer();
    gl.bindVertexArray(this.sheet);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.sheetData);
    this.input(0, 3, gl.FLOAT, 0, 0);
    this.pen = gl.createVertexArray();
    this.lineData = gl.createBuffer();
    this.lineOrder = gl.createBuffer();
    this.lineRoom = 0;
    gl.bindVertexArray(this.pen);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.lineData);
    const stride = 4 * STROKE_NUMBERS;
    this.input(0, 3, gl.FLOAT, stride, 0);
    this.input(1, 3, gl.FLOAT, stride, 12);
    this.input(2, 4, gl.UNSIGNED_BYTE, stride, 24);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, this.lineOrder);
    gl.bindVertexArray(null);
  }

  // Another model is drawn from now on; what it has in common with the one before is kept.
  show(model) {
    this.model = model;
  }

  // What is drawn under a name: the batch, and its room on the graphics card.
  card(name, things, worlds, style, paint) {
    const { gl } = this;
    let card = this.cards.get(name);
    if (!card) {
      card = { batch: new Batch(), faces: gl.createVertexArray(), places: gl.createBuffer(), colours: gl.createBuffer(), order: gl.createBuffer() };
      gl.bindVertexArray(card.faces);
      gl.bindBuffer(gl.ARRAY_BUFFER, card.places);
      this.input(0, 3, gl.FLOAT, 0, 0);
      gl.bindBuffer(gl.ARRAY_BUFFER, card.colours);
      this.input(1, 4, gl.UNSIGNED_BYTE, 0, 0);
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, card.order);
      this.cards.set(name, card);
    }
    card.batch.hold(things, style, paint);
    card.batch.place(worlds);
    card.wanted = true;
    return card;
  }

  // What was not asked for this time leaves the graphics card.
  sweep() {
    const { gl } = this;
    for (const [name, card] of this.cards) {
      if (!card.wanted) {
        gl.deleteVertexArray(card.faces);
        for (const made of [card.places, card.colours, card.order]) gl.deleteBuffer(made);
        this.cards.delete(name);
      }
      card.wanted = false;
    }
  }

  // Gets ready what is to be drawn. Tells in words of its own what picture that makes: where they
  // are those of the picture before, nothing needs to be drawn. `scene` holds the camera's
  // matrices and the cut, as camera.js and stage.js make them.
  gather(scene) {
    const { model } = this;
    const worlds = model.worlds();
    const seen = (things, which) => things.filter((t) => model.shown(t) && which(t));
    const solids = seen(model.bodies, (b) => b.opacity >= 1);
    const soils = seen(model.bodies, (b) => b.opacity < 1 && b.group === "soil");
    const faints = seen(model.bodies, (b) => b.opacity < 1 && b.group !== "soil");
    this.solid = this.card("solid", solids, worlds, "own", OWN_COLOURS(1));
    this.lines = this.card("lines", seen(model.lines, () => true), worlds, "own", OWN_COLOURS(0.8));
    this.soil = this.card("soil", soils, worlds, "own", OWN_COLOURS(0));
    this.faint = this.card("faint", faints, worlds, "own", OWN_COLOURS(0.55));
    this.ghosts = scene.ghosts.map((ghost, i) => this.ghost(`ghost ${i}`, ghost, worlds));
    const lit = () => ({ face: [0, 0, 0, 0], edge: [...LIT, 1] });
    this.lit = scene.lit ? this.card("lit", solids.filter((b) => scene.lit(b)), worlds, "lit", lit) : null;
    this.sweep();
    const { width, height } = this.canvas;
    const batches = [...this.cards].map(([name, card]) => [name, card.batch.edition]);
    return JSON.stringify([width, height, scene.stroke, scene.background, scene.cutSheet, scene.uniforms, batches]);
  }

  // What of the rig would stand elsewhere, seen through: `worlds` are the frames' places there.
  ghost(name, { worlds, holds, strong }, here) {
    const away = (b) => worlds[b.frame].some((x, i) => Math.abs(x - here[b.frame][i]) > 1e-6);
    const list = this.model.bodies.filter((b) => this.model.shown(b) && (holds ? holds(b) : away(b)));
    const colours = strong
      ? { face: [...GHOST, 0.3], edge: [...LIT, 0.9] }
      : { face: [...GHOST, 0.13], edge: [...GHOST, 0.4] };
    return this.card(name, list, worlds, strong ? "strong" : "weak", () => colours);
  }

  // Draws what was gathered, with even steps along its edges or, sooner, without.
  draw(scene, smooth) {
    const { gl, canvas } = this;
    if (smooth) this.smooth.begin(canvas.width, canvas.height);
    for (const { batch } of this.cards.values()) batch.look(scene.uniforms.u_eye);
    gl.viewport(0, 0, canvas.width, canvas.height);
    gl.clearColor(...scene.background, 1);
    gl.clearStencil(0);
    gl.depthMask(true);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT);
    gl.colorMask(true, true, true, false); // nothing of the page shines through
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LEQUAL);
    gl.disable(gl.BLEND);
    gl.enable(gl.CULL_FACE);
    gl.cullFace(gl.BACK);
    this.faces(this.solid, scene);
    if (scene.cutOn) this.caps(this.solid, scene);
    this.edges([this.solid, this.lines], scene);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    gl.depthMask(false);
    gl.disable(gl.CULL_FACE);
    this.faces(this.soil, scene, this.soil.batch.indices);
    gl.enable(gl.CULL_FACE);
    this.faces(this.faint, scene);
    this.edges([this.faint], scene);
    for (const card of this.ghosts) {
      this.faces(card, scene);
      this.edges([card], scene);
    }
    if (this.lit) this.edges([this.lit], scene, 1.7);
    gl.colorMask(true, true, true, true);
    if (smooth) this.smooth.end();
  }

  // Comes when all that was drawn is done, as far as the browser tells.
  done() {
    const { gl } = this;
    const fence = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
    gl.flush();
    return new Promise((tell) => {
      const look = () => {
        const going = fence && !gl.isContextLost() && gl.getSyncParameter(fence, gl.SYNC_STATUS) !== gl.SIGNALED;
        if (going) return void setTimeout(look, 4);
        gl.deleteSync(fence);
        tell();
      };
      setTimeout(look, 0);
    });
  }

  // Those of its triangles that look at the eye, or others of them.
  faces(card, scene, which = card.batch.front) {
    const { gl } = this;
    const { batch } = card;
    if (which.length === 0) return;
    gl.bindVertexArray(card.faces);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, which, gl.STREAM_DRAW);
    if (card.what !== batch.what) {
      gl.bindBuffer(gl.ARRAY_BUFFER, card.colours);
      gl.bufferData(gl.ARRAY_BUFFER, batch.colours, gl.STATIC_DRAW);
    }
    if (card.edition !== batch.edition) {
      gl.bindBuffer(gl.ARRAY_BUFFER, card.places);
      gl.bufferData(gl.ARRAY_BUFFER, batch.places, gl.DYNAMIC_DRAW);
    }
    Object.assign(card, { what: batch.what, edition: batch.edition });
    this.use("face", scene);
    gl.drawElements(gl.TRIANGLES, which.length, gl.UNSIGNED_INT, 0);
  }

  // Where more back than front faces are seen through a point of the cut, it lies inside a body.
  caps(solid, scene) {
    const gl = this.gl;
    gl.enable(gl.STENCIL_TEST);
    gl.colorMask(false, false, false, false);
    gl.depthMask(false);
    gl.disable(gl.DEPTH_TEST);
    gl.stencilFunc(gl.ALWAYS, 0, 255);
    for (const [side, change] of [[gl.FRONT, gl.INCR_WRAP], [gl.BACK, gl.DECR_WRAP]]) {
      gl.cullFace(side);
      gl.stencilOp(gl.KEEP, gl.KEEP, change);
      this.faces(solid, scene, solid.batch.indices);
    }
    gl.cullFace(gl.BACK);
    gl.disable(gl.CULL_FACE);
    gl.colorMask(true, true, true, false);
    gl.depthMask(true);
    gl.enable(gl.DEPTH_TEST);
    gl.stencilFunc(gl.NOTEQUAL, 0, 255);
    gl.stencilOp(gl.KEEP, gl.KEEP, gl.KEEP);
    gl.bindVertexArray(this.sheet);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.sheetData);
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(scene.cutSheet.flat()), gl.DYNAMIC_DRAW);
    this.use("cap", scene);
    gl.drawArrays(gl.TRIANGLE_STRIP, 0, 4);
    gl.disable(gl.STENCIL_TEST);
    gl.enable(gl.CULL_FACE);
  }

  // Edges of these, one after another, `wider` than usual.
  edges(cards, scene, wider = 1) {
    const { gl, strokes } = this;
    strokes.count = 0;
    for (const { batch } of cards) batch.edges(strokes);
    if (strokes.count === 0) return;
    gl.bindVertexArray(this.pen);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.lineData);
    gl.bufferData(gl.ARRAY_BUFFER, strokes.written, gl.STREAM_DRAW);
    if (strokes.count > this.lineRoom) {
      this.lineRoom = 2 * strokes.count;
      const order = new Uint32Array(6 * this.lineRoom);
      for (let k = 0; k < order.length; k += 1) order[k] = 4 * Math.floor(k / 6) + CORNERS_IN_TURN[k % 6];
      gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, order, gl.STATIC_DRAW);
    }
    gl.disable(gl.CULL_FACE);
    this.use("edge", scene, { u_screen: [this.canvas.width, this.canvas.height], u_width: wider * scene.stroke });
    gl.drawElements(gl.TRIANGLES, 6 * strokes.count, gl.UNSIGNED_INT, 0);
    gl.enable(gl.CULL_FACE);
  }
}


function rgb(colour) {
  return [1, 3, 5].map((i) => parseInt(colour.slice(i, i + 2), 16) / 255);
}
