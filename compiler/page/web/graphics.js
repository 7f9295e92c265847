// The browser's own graphics (WebGL 2): programs, things to draw, pictures to draw upon.

export class Graphics {
  constructor(canvas, keep) {
    this.canvas = canvas;
    const gl = canvas.getContext("webgl2", { antialias: false, alpha: false, preserveDrawingBuffer: keep,
      powerPreference: "high-performance" });
    if (!gl) throw new Error("no WebGL 2");
    this.gl = gl;
    const who = gl.getExtension("WEBGL_debug_renderer_info");
    const name = who ? String(gl.getParameter(who.UNMASKED_RENDERER_WEBGL)) : "";
    this.soft = /swiftshader|llvmpipe|software/i.test(name); // drawn by the processor
    this.deep = Boolean(gl.getExtension("EXT_color_buffer_float") || gl.getExtension("EXT_color_buffer_half_float"));
  }

  program(points, fragments) {
    const gl = this.gl, program = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, points], [gl.FRAGMENT_SHADER, fragments]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    }
    gl.linkProgram(program);
    if (!gl.getProgramParameter(program, gl.LINK_STATUS) && !gl.isContextLost()) {
      const logs = gl.getAttachedShaders(program).map((one) => gl.getShaderInfoLog(one));
      throw new Error(`${gl.getProgramInfoLog(program)} ${logs.join(" ")}`);
    }
    const at = {};
    for (let k = 0; k < gl.getProgramParameter(program, gl.ACTIVE_UNIFORMS); k++) {
      const name = gl.getActiveUniform(program, k).name.replace("[0]", "");
      at[name] = gl.getUniformLocation(program, name);
    }
    return { program, at };
  }

  buffer(data, kind = this.gl.ARRAY_BUFFER) {
    const gl = this.gl, buffer = gl.createBuffer();
    gl.bindBuffer(kind, buffer);
    gl.bufferData(kind, data, gl.STATIC_DRAW);
    return buffer;
  }

  // What stands at each place of an array, beginning with place `at`: [figures, kind, whether parts of one].
  laid(buffer, at, figures, kind, share = false) {
    const gl = this.gl;
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.enableVertexAttribArray(at);
    gl.vertexAttribPointer(at, figures, kind, share, 0, 0);
  }

  // Spots (three figures each), folded normals (two) if it has them, and the corners of its triangles if these
  // share spots, as something to draw.
  skin(spots, normals = null, corners = null) {
    const gl = this.gl, array = gl.createVertexArray(), buffers = [this.buffer(spots)];
    gl.bindVertexArray(array);
    this.laid(buffers[0], 0, 3, gl.FLOAT);
    if (normals) {
      buffers.push(this.buffer(normals));
      this.laid(buffers[1], 1, 2, gl.SHORT, true);
    }
    if (corners) buffers.push(this.buffer(corners, gl.ELEMENT_ARRAY_BUFFER));
    gl.bindVertexArray(null);
    return { array, buffers, indexed: Boolean(corners), count: (corners || spots).length / 3 };
  }

  // Draws triangles of a skin: all of them, or `count` from the `first` on.
  put(skin, first = 0, count = skin.indexed ? skin.count : skin.count / 3) {
    const gl = this.gl;
    gl.bindVertexArray(skin.array);
    if (skin.indexed) gl.drawElements(gl.TRIANGLES, 3 * count, gl.UNSIGNED_INT, 12 * first);
    else gl.drawArrays(gl.TRIANGLES, 3 * first, 3 * count);
  }

  drop(thing) {
    if (!thing) return;
    for (const one of thing.buffers) this.gl.deleteBuffer(one);
    this.gl.deleteVertexArray(thing.array);
  }

  // A picture to draw upon, by its name; anew when it is to be of another size.
  target(name, wide, tall, withDepth) {
    const gl = this.gl, known = this[name];
    if (known && known.wide === wide && known.tall === tall) return known;
    if (known) {
      gl.deleteFramebuffer(known.frame);
      gl.deleteTexture(known.picture);
      gl.deleteTexture(known.depth);
    }
    const frame = gl.createFramebuffer();
    gl.bindFramebuffer(gl.FRAMEBUFFER, frame);
    const picture = this.texture(this.deep ? gl.RGBA16F : gl.RGBA8, gl.LINEAR, gl.COLOR_ATTACHMENT0, wide, tall);
    const depth = withDepth ? this.texture(gl.DEPTH24_STENCIL8, gl.NEAREST, gl.DEPTH_STENCIL_ATTACHMENT, wide, tall) : null;
    return (this[name] = { frame, picture, depth, wide, tall });
  }

  texture(format, filter, place, wide, tall) {
    const gl = this.gl, made = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, made);
    gl.texStorage2D(gl.TEXTURE_2D, 1, format, wide, tall);
    for (const what of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, what, filter);
    for (const what of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, what, gl.CLAMP_TO_EDGE);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, place, gl.TEXTURE_2D, made, 0);
    return made;
  }

  // Waits until all that was asked for is drawn.
  done() {
    this.gl.bindFramebuffer(this.gl.FRAMEBUFFER, null);
    this.gl.readPixels(0, 0, 1, 1, this.gl.RGBA, this.gl.UNSIGNED_BYTE, new Uint8Array(4));
  }

  whole({ program, at }, picture, more) {
    const gl = this.gl;
    gl.useProgram(program);
    gl.activeTexture(gl.TEXTURE0);
    if (picture) gl.bindTexture(gl.TEXTURE_2D, picture.picture);
    if (more) more(at);
    gl.bindVertexArray(null);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
  }
}
