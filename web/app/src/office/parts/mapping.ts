import type { Feature, FeatureCollection, Geometry } from 'geojson';
import { type Map as Chart, Marker, type StyleSpecification, setWorkerUrl } from 'maplibre-gl';
import workerURL from 'maplibre-gl/dist/maplibre-gl-worker.mjs?worker&url';
import type { Named } from '../data.ts';
import { centreOf, outlineOf, worst } from '../waters.ts';
import { overlap } from './overlap.ts';

setWorkerUrl(workerURL);

/** Ink on paper: nothing but our own shapes, so that no other server learns what the manager looks at. */
export const style: StyleSpecification = {
  version: 8,
  sources: {},
  layers: [{ id: 'paper', type: 'background', paint: { 'background-color': '#fbfaf6' } }],
};

/**
 * Sets the names of waters on a map, those of the largest first. A name that would lie on another, or be cut off by the edge, is
 * left out for as long as there is no room for it. Gives what takes them off again.
 */
export function nameWaters(map: Chart, waters: Named<'water'>[]): () => void {
  const size = (w: Named<'water'>) => w.body.areaHa ?? 0;
  const labels = [...waters].sort((a, b) => size(b) - size(a)).map((w) => label(w).addTo(map));
  const room = () => {
    const frame = map.getContainer().getBoundingClientRect();
    const taken: DOMRect[] = [];
    for (const name of labels.map((l) => l.getElement())) {
      const box = name.getBoundingClientRect();
      const fits = box.left >= frame.left && box.right <= frame.right && !taken.some((other) => overlap(box, other));
      name.style.visibility = fits ? 'visible' : 'hidden';
      if (fits) taken.push(box);
    }
  };
  room();
  map.on('move', room);
  map.on('resize', room);
  return () => {
    map.off('move', room);
    map.off('resize', room);
    for (const l of labels) l.remove();
  };
}

/** The name of a water, set below its centre. */
function label(water: Named<'water'>) {
  const text = document.createElement('span');
  text.className = 'map-label';
  text.textContent = water.name;
  return new Marker({ element: text, anchor: 'top', offset: [0, 6] }).setLngLat(centreOf(water.body));
}

/** Waters by their outlines with their worst status. */
export function waterShapes(waters: Named<'water'>[]): FeatureCollection {
  const features = waters.map((w): Feature => {
    const { body } = w;
    const outline = outlineOf(body);
    const geometry: Geometry = outline?.length
      ? { type: 'Polygon', coordinates: outline }
      : { type: 'Point', coordinates: centreOf(body) };
    return { type: 'Feature', geometry, properties: { id: w.id, name: w.name, status: worst(body) } };
  });
  return { type: 'FeatureCollection', features };
}

/** Holds every water of the programme's care. */
export function bounds(waters: Named<'water'>[]): [number, number, number, number] {
  const own = waters.map((w) => w.body).filter((w) => !w.outside);
  const all = own.flatMap((w) => outlineOf(w)?.[0] ?? [centreOf(w)]);
  if (all.length === 0) return [-180, -60, 180, 75];
  const lons = all.map((p) => p[0]);
  const lats = all.map((p) => p[1]);
  return [Math.min(...lons), Math.min(...lats), Math.max(...lons), Math.max(...lats)];
}
