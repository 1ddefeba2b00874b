// Several samples to a pixel, in a picture of its own whose mean then goes to the canvas. So one
// picture can be drawn with them and the next, where there is no time for it, without.

const SAMPLES = 4;

class Smooth {
  constructor(gl) {
    this.gl = gl;
    this.samples = Math.min(SAMPLES, gl.getParameter(gl.MAX_SAMPLES));
    this.size = [0, 0];
    this.frame = gl.createFramebuffer();
    this.parts = [
      [gl.COLOR_ATTACHMENT0, gl.RGBA8],
      [gl.DEPTH_STENCIL_ATTACHMENT, gl.DEPTH24_STENCIL8],
    ].map(([place, format]) => ({ place, format, buffer: gl.createRenderbuffer() }));
  }

  // What is drawn from now on goes into it.
  begin(wide, high) {
    const { gl } = this;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.frame);
    if (wide === this.size[0] && high === this.size[1]) return;
    this.size = [wide, high];
    for (const { place, format, buffer } of this.parts) {
      gl.bindRenderbuffer(gl.RENDERBUFFER, buffer);
      gl.renderbufferStorageMultisample(gl.RENDERBUFFER, this.samples, format, wide, high);
      gl.framebufferRenderbuffer(gl.FRAMEBUFFER, place, gl.RENDERBUFFER, buffer);
    }
  }

  // Brings it to the canvas.
  end() {
    const { gl, size: [wide, high] } = this;
    gl.bindFramebuffer(gl.READ_FRAMEBUFFER, this.frame);
    gl.bindFramebuffer(gl.DRAW_FRAMEBUFFER, null);
    gl.blitFramebuffer(0, 0, wide, high, 0, 0, wide, high, gl.COLOR_BUFFER_BIT, gl.NEAREST);
    gl.bindFramebuffer(gl.READ_FRAMEBUFFER, this.frame);
    gl.invalidateFramebuffer(gl.READ_FRAMEBUFFER, this.parts.map((part) => part.place));
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }
}
