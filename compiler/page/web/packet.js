// A piece as the server packs it (packet.py): a JSON text, then plain arrays.

const ARRAYS = { float32: Float32Array, uint32: Uint32Array, int16: Int16Array };

// ArrayBuffer -> what is told, with `arrays` by name.
export function unpacked(buffer) {
  const length = new DataView(buffer).getUint32(0, true);
  const told = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length)));
  const arrays = {};
  for (const [name, [kind, start, count]] of Object.entries(told.arrays)) {
    arrays[name] = new ARRAYS[kind](buffer, 4 + length + start, count);
  }
  told.arrays = arrays;
  return told;
}

// The text of a packet in base64 -> ArrayBuffer.
export function fromBase64(text) {
  const plain = atob(text.trim());
  const bytes = new Uint8Array(plain.length);
  for (let k = 0; k < plain.length; k++) bytes[k] = plain.charCodeAt(k);
  return bytes.buffer;
}
