// True size on this screen, by a bank card laid against it: ISO/IEC 7810 ID-1, 85.60 mm x 53.98 mm.

export const CARD = [85.6, 53.98];
const KEY = "posy-pixels-per-mm";
const USUAL = 96 / 25.4; // CSS pixels a mm, where nothing is known of the screen

export function pixelsPerMm() {
  try {
    const known = Number(localStorage.getItem(KEY));
    return known > 1 && known < 40 ? known : null;
  } catch {
    return null;
  }
}

export function keep(pixels) {
  try {
    localStorage.setItem(KEY, String(pixels));
  } catch {
    // a file opened from a folder may have nowhere to keep it
  }
}

export function usual() {
  return pixelsPerMm() || USUAL;
}
