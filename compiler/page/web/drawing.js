// The piece drawn by the browser's own graphics (WebGL 2): coarse while it turns, fine when it is still.

import { shaders } from "./shaders.js";
import { Graphics } from "./graphics.js";

const BODIES = { clear: 0, milky: 1, opaque: 2, pearl: 3, play: 4 };
const NOWHERE = [0, 0, 0, 1e9]; // a section that cuts nothing
const PLANES = 128;
const GRAINS = [1, 0.7, 0.5, 0.35, 0.25]; // parts of a pixel while turning
const FIELD = 256; // pixels of a field of light
const BROAD = 0.3; // how rough a pearl's face is
export const FINE = 24; // pictures laid over one another when it is still
export const SLOW = 6; // the same, drawn by the processor
const COARSE = 2, DEEP = 6; // bounces of light in a stone: turning, still
const TINY = 30; // pixels: a stone smaller than this is only glanced at while turning
const STRIPS = 8; // in which the processor draws a fine picture, so that a hand need not wait for all of it
const ROOM = 0.9; // how far the walls are that metal shows, in breadths of the piece
const SHADOW = 256; // pixels of the shadow's map

// "#rrggbb" -> light, as figures that add up (sRGB, IEC 61966-2-1).
export function light(colour) {
  return [1, 3, 5].map((k) => {
    const v = parseInt(colour.slice(k, k + 2), 16) / 255;
    return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  });
}

// What metal throws back at one go: paler than the colour it is known by, which is light thrown
// back more than once between its faces.
function thrown(colour) {
  const deep = light(colour).map((v) => Math.max(0.02, v ** 0.74)), most = Math.max(...deep);
  return deep.map((v) => v * (0.93 / most) ** 0.6);
}

export class Drawing extends Graphics {
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
    this.solid = null;
    this.things = []; // what a pose adds: finger, chain
    this.cut = NOWHERE;
    this.caps = [];
    this.glow = { amount: 0, features: new Set(), stone: 0, colour: [1, 0.3, 0.1] };
    this.show = { metal: true, stones: true, castings: null };
    this.metal = null; // another metal than the text's: its colour
    this.rough = 0; // of a face that is not polished (GGX)
    this.grey = 0;
    this.theme = { tent: 1, high: [1, 1, 1], low: [0.9, 0.9, 0.9] };
    this.passes = 0; // whole pictures laid over one another
    this.strip = 0; // of the next one, how many strips are drawn
  }

  // --- what is drawn

  // What is to be drawn; `same` if it looks as what is there.
  setSolid(solid, same) {
    this.solid = solid;
    if (same) return;
    this.drop(this.metalSkin);
    for (const kind of this.kinds || []) this.drop(kind);
    const { points, corners, normals } = solid.arrays;
    this.metalSkin = corners ? this.skin(points, normals, corners) : null;
    let first = 0;
    this.kinds = solid.kinds.map((kind) => {
      const made = this.kind(solid, kind, first);
      first += kind.stones.length;
      return made;
    });
    this.shadeKey = "";
    this.again();
  }

  kind(solid, kind, first) {
    const gl = this.gl, [start, count] = kind.facets, { arrays } = solid;
    const skin = this.skin(arrays["gem-points"], arrays["gem-normals"], arrays.facets.subarray(3 * start, 3 * (start + count)));
    gl.bindVertexArray(skin.array);
    const frames = this.buffer(arrays.frames.subarray(12 * first, 12 * (first + kind.stones.length)));
    for (let row = 0; row < 3; row++) {
      gl.enableVertexAttribArray(2 + row);
      gl.vertexAttribPointer(2 + row, 4, gl.FLOAT, false, 48, 16 * row);
      gl.vertexAttribDivisor(2 + row, 1);
    }
    const numbers = this.buffer(new Float32Array(kind.stones.map((one) => one.number)));
    this.laid(numbers, 5, 1, gl.FLOAT);
    gl.vertexAttribDivisor(5, 1);
    gl.bindVertexArray(null);
    skin.buffers.push(frames, numbers);
    const [from, bounds] = kind.planes, planes = new Float32Array(4 * PLANES);
    planes.set(arrays.planes.subarray(4 * from, 4 * (from + Math.min(bounds, PLANES))));
    const colour = light(kind.colour), deep = Math.max(...kind.size);
    return { ...kind, ...skin, many: kind.stones.length, bounds: Math.min(bounds, PLANES), planes, lit: colour, deep,
      take: colour.map((v) => -Math.log(Math.max(v, 0.004)) / (1.5 * deep)) };
  }

  // What a pose adds: [{spots, normals, colour, matte}].
  setThings(things) {
    for (const one of this.things) this.drop(one.skin);
    this.things = things.map((one) => ({ ...one, skin: this.skin(one.spots, one.normals) }));
    this.again();
  }

  // The cut face of each part: triangles (three spots each) whose odd overlaps are metal.
  setCaps(caps) {
    for (const one of this.caps) this.drop(one.skin);
    this.caps = caps.map((one) => ({ ...one, skin: this.skin(one.spots) }));
    this.again();
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

  // The runs of triangles that are shown, those side by side as one.
  runs() {
    const found = [];
    for (const [part, feature, first, count] of this.solid.runs) {
      const { casting } = this.solid.parts[part];
      if (this.show.castings !== null && casting !== this.show.castings) continue;
      const lit = this.glow.amount > 0 && this.glow.features.has(feature);
      const last = found[found.length - 1];
      if (last && last.part === part && last.lit === lit && last.first + last.count === first) last.count += count;
      else found.push({ part, lit, first, count });
    }
    return found;
  }

  // How deep metal stands at each spot, in `ahead`; `work` begins with the same.
  depths(ahead, work, shot) {
    const gl = this.gl;
    gl.bindFramebuffer(gl.FRAMEBUFFER, ahead.frame);
    gl.viewport(0, 0, shot.wide, shot.tall);
    gl.enable(gl.DEPTH_TEST);
    gl.depthMask(true);
    gl.depthFunc(gl.LESS);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT);
    if (ahead === work) return;
    gl.colorMask(false, false, false, false);
    if (this.solid && this.show.metal && this.metalSkin) {
      this.looked(this.programs.depth, shot);
      this.outsides(true);
      for (const run of this.runs()) this.put(this.metalSkin, run.first, run.count);
      this.outsides(false);
    }
    for (const thing of this.things) {
      const at = this.looked(this.programs.depth, shot);
      gl.uniform4fv(at.uCut, NOWHERE);
      this.put(thing.skin);
    }
    gl.colorMask(true, true, true, true);
    gl.bindFramebuffer(gl.READ_FRAMEBUFFER, ahead.frame);
    gl.bindFramebuffer(gl.DRAW_FRAMEBUFFER, work.frame);
    const both = gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT;
    gl.blitFramebuffer(0, 0, shot.wide, shot.tall, 0, 0, shot.wide, shot.tall, both, gl.NEAREST);
    gl.bindFramebuffer(gl.FRAMEBUFFER, work.frame);
    gl.clear(gl.COLOR_BUFFER_BIT);
  }

  // Whether only faces that look at the onlooker are drawn: the others of closed metal are never seen, but
  // where it is sawn.
  outsides(on) {
    const gl = this.gl;
    if (on && this.cut[3] >= NOWHERE[3]) gl.enable(gl.CULL_FACE);
    else gl.disable(gl.CULL_FACE);
  }

  metals(shot, ahead) {
    const gl = this.gl, at = this.looked(this.programs.metal, shot);
    gl.bindTexture(gl.TEXTURE_2D, shot.looks ? ahead.depth : this.sky.picture); // not looked at while drawn upon
    gl.uniform2f(at.uNearFar, shot.near, shot.far);
    gl.uniform1i(at.uLooks, shot.looks);
    gl.uniform1f(at.uField, this.rough ? 2 : 0);
    gl.uniform1f(at.uReach, this.solid ? this.solid.breadth * 0.16 : 1);
    if (this.solid) {
      gl.uniform3fv(at.uMiddle, seenAt(shot.view, this.solid.middle));
      gl.uniform1f(at.uNear, 1 / (ROOM * this.solid.breadth));
    }
    gl.uniform3fv(at.uLit, this.glow.colour);
    if (this.solid && this.show.metal && this.metalSkin) {
      gl.uniform1f(at.uMatte, 0);
      this.outsides(true);
      for (const run of this.runs()) {
        gl.uniform3fv(at.uColour, thrown(this.colourOf(run.part)));
        gl.uniform1f(at.uGlow, run.lit ? this.glow.amount : 0);
        this.put(this.metalSkin, run.first, run.count);
      }
      this.outsides(false);
    }
    gl.uniform4fv(at.uCut, NOWHERE);
    gl.uniform1f(at.uGlow, 0);
    for (const thing of this.things) {
      gl.uniform3fv(at.uColour, thing.matte ? light(thing.colour) : thrown(thing.colour || this.colourOf(0)));
      gl.uniform1f(at.uMatte, thing.matte ? 1 : 0);
      this.put(thing.skin);
    }
  }

  // The colour of a part: that of the metal chosen, for what is of the piece's own.
  colourOf(part) {
    const own = this.solid.parts[part];
    return this.metal && own && own.metal === this.solid.parts[0].metal && !own.bought ? this.metal
      : own ? own.colour : "#cccccc";
  }

  cuts(shot) {
    const gl = this.gl;
    if (!this.caps.length || !this.show.metal) return;
    gl.enable(gl.STENCIL_TEST);
    for (const cap of this.caps) {
      if (this.show.castings !== null && cap.casting !== this.show.castings) continue;
      this.looked(this.programs.capPoints, shot);
      gl.colorMask(false, false, false, false);
      gl.depthMask(false);
      gl.disable(gl.DEPTH_TEST);
      gl.clear(gl.STENCIL_BUFFER_BIT);
      gl.stencilFunc(gl.ALWAYS, 0, 1);
      gl.stencilOp(gl.KEEP, gl.KEEP, gl.INVERT);
      gl.stencilMask(1);
      this.put(cap.skin);
      gl.colorMask(true, true, true, true);
      gl.depthMask(true);
      gl.enable(gl.DEPTH_TEST);
      gl.stencilFunc(gl.EQUAL, 1, 1);
      gl.stencilOp(gl.KEEP, gl.KEEP, gl.KEEP);
      const at = this.looked(this.programs.cap, shot);
      gl.uniform3fv(at.uColour, light(this.colourOf(cap.part)));
      gl.uniform1f(at.uGrain, shot.wide / Math.max(this.canvas.clientWidth, 1));
      this.put(cap.skin);
    }
    gl.disable(gl.STENCIL_TEST);
  }

  stones(shot) {
    const gl = this.gl;
    if (!this.solid || !this.show.stones) return;
    const at = this.looked(this.programs.stone, shot);
    gl.uniform3fv(at.uMetal, this.solid.parts.length ? light(this.colourOf(0)) : [0.3, 0.3, 0.3]);
    gl.uniform3fv(at.uLit, this.glow.colour);
    gl.uniform1f(at.uGlow, this.glow.stone ? this.glow.amount : 0);
    gl.uniform1f(at.uMarked, this.glow.stone);
    gl.enable(gl.CULL_FACE);
    for (const kind of this.kinds) {
      const tiny = shot.turning && kind.deep * shot.scale < TINY;
      gl.uniform1i(at.uBounces, tiny ? 0 : shot.turning ? COARSE : DEEP);
      gl.uniform1f(at.uDeep, kind.deep);
      gl.uniform4fv(at.uPlanes, kind.planes);
      gl.uniform1i(at.uCount, kind.bounds);
      gl.uniform1i(at.uBody, BODIES[kind.body]);
      gl.uniform1f(at.uIndex, kind.index);
      gl.uniform1f(at.uSpread, shot.turning && this.soft ? 0 : kind.dispersion);
      gl.uniform1f(at.uWhole, shot.turning || this.soft ? 0 : 1);
      gl.uniform3fv(at.uColour, kind.lit);
      gl.uniform3fv(at.uTake, kind.take);
      gl.bindVertexArray(kind.array);
      gl.drawElementsInstanced(gl.TRIANGLES, 3 * kind.count, gl.UNSIGNED_INT, 0, kind.many);
    }
    gl.disable(gl.CULL_FACE);
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

// A spot (x, y, z) as the onlooker sees it: view is column by column.
function seenAt(view, [x, y, z]) {
  return [0, 1, 2].map((k) => view[k] * x + view[4 + k] * y + view[8 + k] * z + view[12 + k]);
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
