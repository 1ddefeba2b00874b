// Draws the model with WebGL 2: solid bodies, caps of the cut, edges, then what shows through.

const GHOST = [0.18, 0.45, 0.66];
const LIT = [0, 0.33, 0.55];

class Painter {
  constructor(canvas, model) {
    const gl = canvas.getContext("webgl2", { antialias: true, stencil: true, alpha: false });
    if (!gl) throw new Error("WebGL 2 is not to be had in this browser");
    Object.assign(this, { canvas, model, gl });
    this.face = this.program(FACE_VERTEX, FACE_FRAGMENT, ["a_place"]);
    this.cap = this.program(FACE_VERTEX, CAP_FRAGMENT, ["a_place"]);
    this.edge = this.program(EDGE_VERTEX, EDGE_FRAGMENT, ["a_corner", "a_from", "a_to", "a_one", "a_other"]);
    this.load();
  }

  program(vertex, fragment, inputs) {
    const gl = this.gl;
    const program = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader));
      gl.attachShader(program, shader);
    }
    inputs.forEach((name, i) => gl.bindAttribLocation(program, i, name));
    gl.linkProgram(program);
    if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(program));
    const uniforms = {};
    for (let i = 0; i < gl.getProgramParameter(program, gl.ACTIVE_UNIFORMS); i += 1) {
      const { name } = gl.getActiveUniform(program, i);
      uniforms[name] = gl.getUniformLocation(program, name);
    }
    return { program, uniforms };
  }

  buffer(data, target = this.gl.ARRAY_BUFFER) {
    const gl = this.gl;
    const made = gl.createBuffer();
    gl.bindBuffer(target, made);
    gl.bufferData(target, data, gl.STATIC_DRAW);
    return made;
  }

  load() {
    const { gl } = this;
    this.cards = new Map();
    this.corners = this.buffer(new Float32Array([0, -1, 0, 1, 1, -1, 1, 1]));
    this.sheet = gl.createVertexArray();
    gl.bindVertexArray(this.sheet);
    this.sheetData = this.buffer(new Float32Array(12));
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 0, 0);
    gl.bindVertexArray(null);
  }

  // Another model; shapes that lie on the graphics card already stay there.
  show(model) {
    this.model = model;
    for (const [shape, card] of this.cards) {
      if (model.shapes.has(shape)) continue;
      for (const made of card.buffers) this.gl.deleteBuffer(made);
      for (const made of [card.faces, card.edges]) this.gl.deleteVertexArray(made);
      this.cards.delete(shape);
    }
  }

  // A shape's numbers on the graphics card, put there when it is first drawn.
  card(shape) {
    const known = this.cards.get(shape);
    if (known) return known;
    const { gl } = this;
    const card = { faces: gl.createVertexArray(), edges: gl.createVertexArray(), buffers: [] };
    gl.bindVertexArray(card.faces);
    card.buffers.push(this.buffer(shape.vertices));
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 3, gl.FLOAT, false, 0, 0);
    card.buffers.push(this.buffer(shape.faces, gl.ELEMENT_ARRAY_BUFFER));
    card.count = shape.faces.length;
    gl.bindVertexArray(card.edges);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.corners);
    gl.enableVertexAttribArray(0);
    gl.vertexAttribPointer(0, 2, gl.FLOAT, false, 0, 0);
    card.buffers.push(this.buffer(shape.edges));
    for (let k = 0; k < 4; k += 1) {
      gl.enableVertexAttribArray(k + 1);
      gl.vertexAttribPointer(k + 1, 3, gl.FLOAT, false, 4 * EDGE_FLOATS, 12 * k);
      gl.vertexAttribDivisor(k + 1, 1);
    }
    card.edgeCount = shape.edges.length / EDGE_FLOATS;
    this.cards.set(shape, card);
    return card;
  }

  set(program, values) {
    const gl = this.gl;
    gl.useProgram(program.program);
    for (const [name, value] of Object.entries(values)) {
      const place = program.uniforms[name];
      if (place === undefined) continue;
      if (typeof value === "number") gl.uniform1f(place, value);
      else if (value.length === 16) gl.uniformMatrix4fv(place, true, value);
      else gl[`uniform${value.length}fv`](place, value);
    }
  }

  // `scene` holds the camera's matrices and the cut, as camera.js and stage.js make them.
  draw(scene) {
    const { gl, canvas, model } = this;
    this.worlds = model.worlds();
    gl.viewport(0, 0, canvas.width, canvas.height);
    gl.clearColor(...scene.background, 1);
    gl.clearStencil(0);
    gl.depthMask(true);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LEQUAL);
    const bodies = model.bodies.filter((b) => model.shown(b));
    const solid = bodies.filter((b) => b.opacity >= 1);
    const faint = bodies.filter((b) => b.opacity < 1);
    gl.disable(gl.BLEND);
    gl.enable(gl.CULL_FACE);
    gl.cullFace(gl.BACK);
    this.bodies(solid, scene);
    if (scene.cutOn) this.caps(solid, scene);
    this.edges(solid, scene, 1);
    this.edges(model.lines.filter((l) => model.shown(l)), scene, 0.8);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    gl.depthMask(false);
    gl.disable(gl.CULL_FACE);
    this.bodies(faint.filter((b) => b.group === "soil"), scene);
    gl.enable(gl.CULL_FACE);
    this.bodies(faint.filter((b) => b.group !== "soil"), scene);
    this.edges(faint.filter((b) => b.group !== "soil"), scene, 0.55);
    for (const ghost of scene.ghosts) this.ghost(ghost, scene);
    if (scene.lit) {
      const chosen = solid.filter((b) => scene.lit(b));
      this.edges(chosen, { ...scene, stroke: 1.7 * scene.stroke }, 1, LIT);
    }
    gl.depthMask(true);
  }

  // What of the rig would stand elsewhere, seen through: `worlds` are the frames' places there.
  ghost({ worlds, holds, strong }, scene) {
    const here = this.worlds;
    const away = (b) => worlds[b.frame].some((x, i) => Math.abs(x - here[b.frame][i]) > 1e-6);
    const list = this.model.bodies.filter((b) => this.model.shown(b) && (holds ? holds(b) : away(b)));
    this.worlds = worlds;
    this.bodies(list, scene, [...GHOST, strong ? 0.3 : 0.13]);
    this.edges(list, scene, strong ? 0.9 : 0.4, strong ? LIT : GHOST);
    this.worlds = here;
  }

  bodies(list, scene, colour = null) {
    const gl = this.gl;
    this.set(this.face, scene.uniforms);
    for (const body of list) {
      const card = this.card(body.shape);
      gl.bindVertexArray(card.faces);
      this.set(this.face, { u_world: this.worlds[body.frame], u_colour: colour || [...rgb(body.colour), body.opacity] });
      gl.drawElements(gl.TRIANGLES, card.count, gl.UNSIGNED_INT, 0);
    }
  }

  // Where more back than front faces are seen through a point of the cut, it lies inside a body.
  caps(list, scene) {
    const gl = this.gl;
    gl.enable(gl.STENCIL_TEST);
    gl.colorMask(false, false, false, false);
    gl.depthMask(false);
    gl.disable(gl.DEPTH_TEST);
    gl.stencilFunc(gl.ALWAYS, 0, 255);
    for (const [side, change] of [[gl.FRONT, gl.INCR_WRAP], [gl.BACK, gl.DECR_WRAP]]) {
      gl.cullFace(side);
      gl.stencilOp(gl.KEEP, gl.KEEP, change);
      this.bodies(list, scene);
    }
    gl.cullFace(gl.BACK);
    gl.disable(gl.CULL_FACE);
    gl.colorMask(true, true, true, true);
    gl.depthMask(true);
    gl.enable(gl.DEPTH_TEST);
    gl.stencilFunc(gl.NOTEQUAL, 0, 255);
    gl.stencilOp(gl.KEEP, gl.KEEP, gl.KEEP);
    gl.bindVertexArray(this.sheet);
    gl.bindBuffer(gl.ARRAY_BUFFER, this.sheetData);
    gl.bufferSubData(gl.ARRAY_BUFFER, 0, new Float32Array(scene.cutSheet.flat()));
    this.set(this.cap, { ...scene.uniforms, u_world: IDENTITY });
    gl.drawArrays(gl.TRIANGLE_STRIP, 0, 4);
    gl.disable(gl.STENCIL_TEST);
    gl.enable(gl.CULL_FACE);
  }

  edges(list, scene, alpha, colour = null) {
    const gl = this.gl;
    gl.disable(gl.CULL_FACE);
    this.set(this.edge, {
      ...scene.uniforms,
      u_screen: [this.canvas.width, this.canvas.height],
      u_width: scene.stroke,
      u_crease: CREASE,
    });
    for (const thing of list) {
      const card = this.card(thing.shape);
      if (card.edgeCount === 0) continue;
      gl.bindVertexArray(card.edges);
      this.set(this.edge, {
        u_world: this.worlds[thing.frame],
        u_colour: [...(colour || rgb(thing.edge || thing.colour)), alpha],
      });
      gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 4, card.edgeCount);
    }
    gl.enable(gl.CULL_FACE);
  }
}

function rgb(colour) {
  return [1, 3, 5].map((i) => parseInt(colour.slice(i, i + 2), 16) / 255);
}
