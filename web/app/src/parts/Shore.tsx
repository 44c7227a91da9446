import type { WaterBody } from '../engine/types.ts';

/** The shoreline of a water in a thumbnail: north up, stretched by latitude as it lies on the ground. */
export function Shore({ body, size = 40 }: { body: WaterBody; size?: number }) {
  const rings = body.outline ?? [];
  if (rings.length === 0) {
    return (
      <svg className="shore" viewBox="0 0 40 40" width={size} height={size} aria-hidden="true">
        <path d="M4 20 H36" strokeDasharray="4 4" />
      </svg>
    );
  }
  const squeeze = Math.cos((body.centre[1] * Math.PI) / 180);
  const points = rings.map((ring) => ring.map(([lon, lat]) => [lon * squeeze, -lat] as const));
  const all = points.flat();
  const [x0, x1] = [Math.min(...all.map((p) => p[0])), Math.max(...all.map((p) => p[0]))];
  const [y0, y1] = [Math.min(...all.map((p) => p[1])), Math.max(...all.map((p) => p[1]))];
  const k = 36 / Math.max(x1 - x0, y1 - y0, 1e-9);
  const [dx, dy] = [(40 - (x1 - x0) * k) / 2, (40 - (y1 - y0) * k) / 2];
  const path = points
    .map(
      (ring) =>
        `${ring.map((p, i) => `${i ? 'L' : 'M'}${((p[0] - x0) * k + dx).toFixed(1)} ${((p[1] - y0) * k + dy).toFixed(1)}`).join('')}Z`,
    )
    .join('');
  return (
    <svg className="shore" viewBox="0 0 40 40" width={size} height={size} aria-hidden="true">
      <path d={path} />
    </svg>
  );
}
