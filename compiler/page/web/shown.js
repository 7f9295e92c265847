// What is drawn, and how each of it is put upon the picture: metal, its cut faces, stones, what a pose adds.

import { Graphics } from "./graphics.js";

const BODIES = { clear: 0, milky: 1, opaque: 2, pearl: 3, play: 4 };
const NOWHERE = [0, 0, 0, 1e9]; // a section that cuts nothing
const PLANES = 128;
const COARSE = 2, DEEP = 6; // bounces of light in a stone: turning, still
const TINY = 30; // pixels: a stone smaller than this is only glanced at while turning
const ROOM = 0.9; // how far the walls are that metal shows, in breadths of the piece

// "#rrggbb" -> light, as figures that add up (sRGB, IEC 61966-2-1).
function light(colour) {
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

export class Shown extends Graphics {
  constructor(canvas, keep) {
    super(canvas, keep);
    this.solid = null;
    this.things = []; // what a pose adds: finger, chain
    this.cut = NOWHERE;
    this.caps = [];
    this.glow = { amount: 0, features: new Set(), stone: 0, colour: [1, 0.3, 0.1] };
    this.show = { metal: true, stones: true, castings: null };
    this.metal = null; // another metal than the text's: its colour
    this.rough = 0; // of a face that is not polished (GGX)
  }

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
}

// A spot (x, y, z) as the onlooker sees it: view is column by column.
function seenAt(view, [x, y, z]) {
  return [0, 1, 2].map((k) => view[k] * x + view[4 + k] * y + view[8 + k] * z + view[12 + k]);
}
