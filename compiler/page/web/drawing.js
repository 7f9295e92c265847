// The piece drawn by the browser's own graphics (WebGL 2): coarse while it turns, fine when it is still.

import { shaders } from "./shaders.js";
import { Shown } from "./shown.js";

const GRAINS = [1, 0.7, 0.5, 0.35, 0.25]; // parts of a pixel while turning
const FIELD = 256; // pixels of a field of light
const BROAD = 0.3; // how rough a pearl's face is
export const FINE = 24; // pictures laid over one another when it is still
export const SLOW = 6; // the same, drawn by the processor
const STRIPS = 8; // in which the processor draws a fine picture, so that a hand need not wait for all of it
const SHADOW = 256; // pixels of the shadow's map

export class Drawing extends Shown {
  constructor(canvas, keep = false) {
    super(canvas, keep);
    this.grain = this.soft ? 2 : 0; // of GRAINS
    this.full = [2, 2]; // pixels of a fine picture
    this.programs = {
      metal: this.program(shaders.METAL_POINTS, shaders.METAL),
      depth: this.program(shaders.METAL_POINTS, shaders.DEPTH_ONLY),
      stone: this.program(shaders.STONE_POINTS, shaders.STONE),
      capPoints: this.program(shaders.CAP_POINTS, shaders.NOTHING),
      cap: this.program(shaders.CAP_POINTS, shaders.CAP),
      table: this.program(shaders.METAL_POINTS, shaders.TABLE),
      shade: this.program(shaders.METAL_POINTS, shaders.SHADE),
      bake: this.program(shaders.WHOLE, shaders.BAKE),
      copy: this.program(shaders.WHOLE, shaders.COPY),
      shown: this.program(shaders.WHOLE, shaders.SHOWN),
    };
    this.grey = 0;
    this.theme = { tent: 1, high: [1, 1, 1], low: [0.9, 0.9, 0.9] };
    this.passes = 0; // whole pictures laid over one another
    this.strip = 0; // of the next one, how many strips are drawn
  }

  again() {
    this.passes = this.strip = 0;
  }

  // --- the pictures

  // The light of the room, if it is another one than it was.
  bakeSky() {
    const gl = this.gl, pearls = (this.kinds || []).some((one) => one.body === "pearl");
    const key = `${this.theme.tent} ${this.rough} ${pearls}`;
    if (this.skyKey === key) return;
    this.skyKey = key;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.target("sky", 2 * FIELD, 2 * FIELD, false).frame);
    gl.disable(gl.DEPTH_TEST);
    [[0, 0], [0, 1], [this.rough, 0], [pearls ? BROAD : 0, 0]].forEach(([blur, sparks], k) => {
      if (k > 1 && !blur) return;
      gl.viewport((k % 2) * FIELD, (k >> 1) * FIELD, FIELD, FIELD);
      this.whole(this.programs.bake, null, (at) => {
        gl.uniform1f(at.uTent, this.theme.tent);
        gl.uniform1f(at.uBlur, blur);
        gl.uniform1f(at.uSparks, sparks);
      });
    });
  }

  // One more picture of `look`. Coarse when `turning`; else laid over those before, as the look is the
  // same. True while more would make it finer.
  draw(look, { turning, reach, table }) {
    const gl = this.gl;
    if (gl.isContextLost()) return false;
    const grain = turning ? GRAINS[this.grain] : 1;
    const [wide, tall] = this.full.map((one) => Math.max(2, Math.round(one * grain)));
    if (turning) this.again();
    const fresh = this.passes === 0, k = this.passes, strips = this.soft && !turning ? STRIPS : 1;
    const jitter = fresh ? [0, 0] : [halton(k, 2) - 0.5, halton(k, 3) - 0.5];
    const shift = [(2 * jitter[0]) / wide, (2 * jitter[1]) / tall];
    const shot = { ...look.matrices(wide / tall, reach, shift), flat: look.flat, turning, wide, tall, reach, table, pass: k,
      looks: turning ? (this.soft ? 0 : 4) : this.soft ? 4 : 6, scale: tall / 2 / look.half };
    this.bakeSky();
    if (table) this.shade(table);
    const sort = turning ? "Coarse" : "", work = this.target(`work${sort}`, wide, tall, true);
    const ahead = shot.looks ? this.target(`ahead${sort}`, wide, tall, true) : work;
    if (this.strip === 0) this.depths(ahead, work, shot);
    gl.bindFramebuffer(gl.FRAMEBUFFER, work.frame);
    gl.viewport(0, 0, wide, tall);
    const from = Math.floor((tall * this.strip) / strips), to = Math.floor((tall * (this.strip + 1)) / strips);
    gl.enable(gl.SCISSOR_TEST);
    gl.scissor(0, from, wide, to - from);
    gl.enable(gl.DEPTH_TEST);
    gl.depthFunc(gl.LEQUAL);
    this.metals(shot, ahead);
    this.cuts(shot);
    this.stones(shot);
    if (table) this.under(shot);
    gl.disable(gl.SCISSOR_TEST);
    if (++this.strip < strips) return true;
    this.strip = 0;
    let picture = work;
    if (!turning) {
      picture = this.target("sum", wide, tall, false);
      gl.bindFramebuffer(gl.FRAMEBUFFER, picture.frame);
      gl.disable(gl.DEPTH_TEST);
      gl.enable(gl.BLEND);
      gl.blendColor(0, 0, 0, 1 / (k + 1));
      gl.blendFunc(gl.CONSTANT_ALPHA, gl.ONE_MINUS_CONSTANT_ALPHA);
      this.whole(this.programs.copy, work);
      gl.disable(gl.BLEND);
      this.passes = k + 1;
    }
    const { canvas } = this; // as large as the picture; the browser fills the room with it
    if (canvas.width !== wide || canvas.height !== tall) [canvas.width, canvas.height] = [wide, tall];
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.viewport(0, 0, wide, tall);
    gl.disable(gl.DEPTH_TEST);
    this.whole(this.programs.shown, picture, (at) => {
      gl.uniform3fv(at.uHigh, this.theme.high);
      gl.uniform3fv(at.uLow, this.theme.low);
      gl.uniform1f(at.uGrey, this.grey);
    });
    return turning || this.passes < (this.soft ? SLOW : FINE);
  }

  // Coarser or finer while turning.
  regrain(way) {
    this.grain = Math.max(0, Math.min(GRAINS.length - 1, this.grain + way));
  }

  looked({ program, at }, shot) {
    const gl = this.gl;
    gl.useProgram(program);
    gl.uniformMatrix4fv(at.uView, false, shot.view);
    gl.uniformMatrix4fv(at.uSeen, false, shot.seen);
    if (at.uCut) gl.uniform4fv(at.uCut, this.cut);
    if (at.uFlat) gl.uniform1f(at.uFlat, shot.flat ? 1 : 0);
    if (at.uTent) gl.uniform1f(at.uTent, this.theme.tent);
    if (at.uPass) gl.uniform1f(at.uPass, shot.pass);
    if (at.uSky) {
      gl.activeTexture(gl.TEXTURE1);
      gl.bindTexture(gl.TEXTURE_2D, this.sky.picture);
      gl.uniform1i(at.uSky, 1);
      gl.activeTexture(gl.TEXTURE0);
    }
    return at;
  }

  // --- the shadow on the table

  shade(table) {
    const gl = this.gl, key = `${table.key}`;
    if (this.shadeKey === key) return;
    this.shadeKey = key;
    const map = this.target("map", SHADOW, SHADOW, true);
    gl.bindFramebuffer(gl.FRAMEBUFFER, map.frame);
    gl.viewport(0, 0, SHADOW, SHADOW);
    gl.clearColor(1, 0, 0, 1);
    gl.enable(gl.DEPTH_TEST);
    gl.depthMask(true);
    gl.depthFunc(gl.LESS);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    if (!this.metalSkin) return;
    const { program, at } = this.programs.shade;
    gl.useProgram(program);
    gl.uniformMatrix4fv(at.uView, false, table.below);
    gl.uniformMatrix4fv(at.uSeen, false, [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1]);
    gl.uniform4fv(at.uUp, [...table.up, table.low]);
    gl.uniform1f(at.uTall, table.tall);
    this.put(this.metalSkin);
    this.drop(this.sheet);
    this.sheet = this.skin(table.sheet);
  }

  under(shot) {
    const gl = this.gl, at = this.looked(this.programs.table, shot), { table } = shot;
    if (!this.sheet) return;
    gl.uniformMatrix4fv(at.uFromAbove, false, table.below);
    gl.uniform1f(at.uStrength, this.theme.tent > 0.5 ? 0.62 : 0.85);
    gl.bindTexture(gl.TEXTURE_2D, this.map.picture);
    gl.depthMask(false);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.ONE_MINUS_DST_ALPHA, gl.ONE);
    this.put(this.sheet);
    gl.disable(gl.BLEND);
    gl.depthMask(true);
  }
}

// Spots between pixels, evenly strewn (Halton 1960).
function halton(k, base) {
  let value = 0, part = 1 / base;
  for (let n = k; n > 0; n = Math.floor(n / base)) {
    value += part * (n % base);
    part /= base;
  }
  return value;
}
