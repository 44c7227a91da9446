// How far apart two colours are to an eye, and how well words stand on them. Contrast is that of WCAG 2.2; difference is CIEDE2000
// (Sharma, Wu and Dalal 2005); seeing without one kind of cone after Machado, Oliveira and Fernandes 2009, severity 1.0.
const linear = (c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);

/** The three parts of a computed colour, linear, 0 to 1. */
export function rgbOf(css) {
  const [r, g, b] = css.match(/[\d.]+/g).map(Number);
  return [r, g, b].map((v) => linear(v / 255));
}

export const luminance = ([r, g, b]) => 0.2126 * r + 0.7152 * g + 0.0722 * b;

export function contrast(a, b) {
  const [hi, lo] = [luminance(rgbOf(a)), luminance(rgbOf(b))].sort((x, y) => y - x);
  return (hi + 0.05) / (lo + 0.05);
}

const cones = {
  normal: [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
  protan: [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
  deutan: [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.01182, 0.04294, 0.968881]],
  tritan: [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.3039]],
};
export const sights = Object.keys(cones);

function labOf([r, g, b]) {
  const f = (t) => (t > 216 / 24389 ? Math.cbrt(t) : ((24389 / 27) * t + 16) / 116);
  const x = f((0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047);
  const y = f(0.2126729 * r + 0.7151522 * g + 0.072175 * b);
  const z = f((0.0193339 * r + 0.119192 * g + 0.9503041 * b) / 1.08883);
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

/** A computed colour as one kind of eye sees it, in CIELAB. */
export function seen(css, sight) {
  const rgb = rgbOf(css);
  return labOf(cones[sight].map((row) => Math.min(1, Math.max(0, row[0] * rgb[0] + row[1] * rgb[1] + row[2] * rgb[2]))));
}

/** CIEDE2000 between two colours in CIELAB. */
export function difference([L1, a1, b1], [L2, a2, b2]) {
  const rad = Math.PI / 180;
  const meanC = (Math.hypot(a1, b1) + Math.hypot(a2, b2)) / 2;
  const g = 0.5 * (1 - Math.sqrt(meanC ** 7 / (meanC ** 7 + 25 ** 7)));
  const [p1, p2] = [a1 * (1 + g), a2 * (1 + g)];
  const [c1, c2] = [Math.hypot(p1, b1), Math.hypot(p2, b2)];
  const hue = (b, a) => (a || b ? (Math.atan2(b, a) / rad + 360) % 360 : 0);
  const [h1, h2] = [hue(b1, p1), hue(b2, p2)];
  const grey = c1 * c2 === 0;
  let turn = grey ? 0 : h2 - h1;
  if (turn > 180) turn -= 360;
  if (turn < -180) turn += 360;
  const dH = 2 * Math.sqrt(c1 * c2) * Math.sin((turn / 2) * rad);
  const [dL, dC, L, C] = [L2 - L1, c2 - c1, (L1 + L2) / 2, (c1 + c2) / 2];
  const sum = h1 + h2;
  const h = grey ? sum : Math.abs(h1 - h2) <= 180 ? sum / 2 : sum < 360 ? (sum + 360) / 2 : (sum - 360) / 2;
  const cos = (deg) => Math.cos(deg * rad);
  const t = 1 - 0.17 * cos(h - 30) + 0.24 * cos(2 * h) + 0.32 * cos(3 * h + 6) - 0.2 * cos(4 * h - 63);
  const sL = 1 + (0.015 * (L - 50) ** 2) / Math.sqrt(20 + (L - 50) ** 2);
  const [sC, sH] = [1 + 0.045 * C, 1 + 0.015 * C * t];
  const rT = -2 * Math.sqrt(C ** 7 / (C ** 7 + 25 ** 7)) * Math.sin(60 * Math.exp(-(((h - 275) / 25) ** 2)) * rad);
  return Math.sqrt((dL / sL) ** 2 + (dC / sC) ** 2 + (dH / sH) ** 2 + rT * (dC / sC) * (dH / sH));
}
