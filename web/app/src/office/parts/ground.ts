import {
  addProtocol,
  type Map as Chart,
  type ExpressionSpecification,
  type FilterSpecification,
  type LayerSpecification,
} from 'maplibre-gl';
import { Protocol } from 'pmtiles';
import type { Schemas } from '../../shared/api.ts';

export type Tileset = Schemas['Tileset'];

// Reads pieces of the programme's own file from our own server.
addProtocol('pmtiles', new Protocol().tile);

const source = 'ground';

/** Pale, so that the statuses of our own waters, drawn above, are never in doubt. */
const pale = { land: '#f1efe7', water: '#dfe8ea', line: '#c6c9c5', stream: '#b3c8cf' };

const wet = /water|ocean|lake|river|sea(?![a-z])/i;
// biome-ignore format: a list of words
const wetClasses = [
  'water', 'ocean', 'sea', 'lake', 'pond', 'river', 'riverbank', 'stream', 'canal', 'reservoir', 'basin', 'bay', 'dock', 'strait',
];

/** Makers of maps say what a shape is under one of these names. */
const classOf: ExpressionSpecification = [
  'downcase',
  ['to-string', ['coalesce', ['get', 'class'], ['get', 'kind'], ['get', 'natural'], ['get', 'type'], '']],
];

const shape = (kind: 'Polygon' | 'LineString'): FilterSpecification => ['==', ['geometry-type'], kind] as const;

/** The layers that draw a base map: pictures washed out; of shapes surfaces and thin lines, water as water. No points, no names. */
export function groundLayers(tiles: Tileset, on: boolean): LayerSpecification[] {
  const layout = { visibility: on ? ('visible' as const) : ('none' as const) };
  if (tiles.type !== 'mvt')
    return [
      {
        id: 'ground',
        type: 'raster',
        source,
        layout,
        paint: { 'raster-saturation': -0.7, 'raster-contrast': -0.3, 'raster-opacity': 0.35 },
      },
    ];
  const names = tiles.layers ?? [];
  const water = names.filter((n) => wet.test(n));
  const colour = (name: string, yes: string, no: string): ExpressionSpecification | string =>
    water.includes(name) ? yes : ['case', ['in', classOf, ['literal', wetClasses]], yes, no];
  return [
    ...[...names.filter((n) => !water.includes(n)), ...water].map(
      (name): LayerSpecification => ({
        id: `ground-fill-${name}`,
        type: 'fill',
        source,
        'source-layer': name,
        filter: shape('Polygon'),
        layout,
        paint: { 'fill-color': colour(name, pale.water, pale.land), 'fill-antialias': false },
      }),
    ),
    ...names.map(
      (name): LayerSpecification => ({
        id: `ground-line-${name}`,
        type: 'line',
        source,
        'source-layer': name,
        filter: shape('LineString'),
        layout,
        paint: { 'line-color': colour(name, pale.stream, pale.line), 'line-width': 0.7 },
      }),
    ),
  ];
}

/** Draws the base map. Called before anything else is added, so that all of our own lies above it. */
export function addGround(map: Chart, tiles: Tileset, on: boolean) {
  const url = `pmtiles://${location.origin}/api/basemap/tiles?v=${tiles.version}`;
  map.addSource(source, tiles.type === 'mvt' ? { type: 'vector', url } : { type: 'raster', url, tileSize: 256 });
  for (const layer of groundLayers(tiles, on)) map.addLayer(layer);
}

export function showGround(map: Chart, tiles: Tileset, on: boolean) {
  for (const { id } of groundLayers(tiles, on))
    if (map.getLayer(id)) map.setLayoutProperty(id, 'visibility', on ? 'visible' : 'none');
}

/** Calls back when a piece of the base map cannot be read; other faults of a map go where they went before. */
export function onGroundTrouble(map: Chart, tell: () => void) {
  map.on('error', (event) => {
    if ((event as { sourceId?: string }).sourceId === source) tell();
    else console.error(event.error);
  });
}
