import type { Feature, FeatureCollection, Geometry } from 'geojson';
import { Marker, type StyleSpecification, setWorkerUrl } from 'maplibre-gl';
import workerURL from 'maplibre-gl/dist/maplibre-gl-worker.mjs?worker&url';
import type { Named } from '../data.ts';
import { centreOf, outlineOf, worst } from '../waters.ts';

setWorkerUrl(workerURL);

/** Ink on paper: nothing but our own shapes, so that no other server learns what the manager looks at. */
export const style: StyleSpecification = {
  version: 8,
  sources: {},
  layers: [{ id: 'paper', type: 'background', paint: { 'background-color': '#fbfaf6' } }],
};

/** The name of a water, set below its centre. */
export function label(water: Named<'water'>) {
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
