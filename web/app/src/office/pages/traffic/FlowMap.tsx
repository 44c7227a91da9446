import 'maplibre-gl/dist/maplibre-gl.css';
import { type Map as Chart, type GeoJSONSource, Map as MapLibre, NavigationControl, ScaleControl } from 'maplibre-gl';
import { useEffect, useMemo, useRef } from 'react';
import { type Named, useKind } from '../../data.ts';
import { GroundLine, useGround } from '../../parts/GroundLine.tsx';
import { bounds, nameWaters, style, waterShapes } from '../../parts/mapping.ts';
import { say } from '../../words.ts';
import { type Certainty, drawn, type Line, type Place } from './traffic.ts';

const ink = '#14202b';

/** How each step of certainty is drawn: whole, in long dashes, in dots; each fainter than the one before. */
const strokes: Record<Certainty, { opacity: number; dash?: [number, number] }> = {
  firm: { opacity: 0.9 },
  loose: { opacity: 0.65, dash: [3, 1] },
  guess: { opacity: 0.45, dash: [1, 1] },
};

/** Flows as arcs over the waters, drawn again in place when the week or the number of pairs changes. */
export function FlowMap({ pairs, waters, largest }: { pairs: Line[]; waters: Place[]; largest: number }) {
  const known = useKind('water');
  const frame = useRef<HTMLElement>(null);
  const chart = useRef<Chart | null>(null);
  const ground = useGround(chart);
  const draw = useRef(ground.draw);
  draw.current = ground.draw;
  const flows = useMemo(() => drawn(pairs, waters, largest), [pairs, waters, largest]);
  const latest = useRef(flows);
  latest.current = flows;
  const shores = known.data;
  useEffect(() => {
    if (!frame.current || !shores || !ground.known) return;
    const map = chartOf(frame.current, shores);
    chart.current = map;
    map.on('load', () => {
      draw.current(map);
      map.addSource('waters', { type: 'geojson', data: waterShapes(shores) });
      map.addSource('flows', { type: 'geojson', data: latest.current });
      addLayers(map, narrowly(map.getContainer()) ? 5 : 12);
    });
    return () => {
      map.remove();
      chart.current = null;
    };
  }, [shores, ground.known]);
  useEffect(() => {
    const source = chart.current?.getSource('flows') as GeoJSONSource | undefined;
    source?.setData(flows);
  }, [flows]);
  useEffect(() => {
    const map = chart.current;
    if (!map || !shores || !ground.known) return;
    const named = touched(pairs, narrowly(map.getContainer()) ? 4 : pairs.length);
    return nameWaters(
      map,
      shores.filter((w) => named.has(w.id)),
    );
  }, [shores, pairs, ground.known]);
  return (
    <>
      <section ref={frame} className="region flows on-paper" aria-label={say('flows.label')} />
      <GroundLine ground={ground} />
    </>
  );
}

/** On a narrow map lines are thinner and only the largest flows have names: more would cover each other. */
const narrowly = (frame: HTMLElement) => frame.clientWidth < 600;

/** The waters at the ends of the first pairs. */
const touched = (pairs: Line[], first: number) => new Set(pairs.slice(0, first).flatMap((p) => [p.from, p.to]));

function chartOf(container: HTMLElement, waters: Named<'water'>[]): Chart {
  const map = new MapLibre({
    container,
    style,
    attributionControl: false,
    bounds: bounds(waters),
    fitBoundsOptions: { padding: 30 },
  });
  map.addControl(new NavigationControl({ showCompass: false }));
  map.addControl(new ScaleControl({}));
  return map;
}

function addLayers(map: Chart, widest: number) {
  map.addLayer({ id: 'water', type: 'fill', source: 'waters', paint: { 'fill-color': '#d9d4c6' } });
  map.addLayer({ id: 'shore', type: 'line', source: 'waters', paint: { 'line-color': ink, 'line-width': 0.8 } });
  for (const [name, stroke] of Object.entries(strokes)) {
    map.addLayer({
      id: `flow-${name}`,
      type: 'line',
      source: 'flows',
      filter: ['all', ['==', ['geometry-type'], 'LineString'], ['==', ['get', 'certainty'], name]],
      paint: {
        'line-color': ink,
        'line-opacity': stroke.opacity,
        'line-width': ['max', 0.75, ['*', widest, ['get', 'width']]],
        ...(stroke.dash && { 'line-dasharray': stroke.dash }),
      },
    });
  }
  map.addImage('head', head(), { pixelRatio: 2 });
  map.addLayer({
    id: 'heads',
    type: 'symbol',
    source: 'flows',
    filter: ['==', ['geometry-type'], 'Point'],
    layout: {
      'icon-image': 'head',
      'icon-rotate': ['get', 'heading'],
      'icon-rotation-alignment': 'map',
      'icon-size': ['*', widest / 12, ['+', 0.7, ['*', 0.8, ['get', 'width']]]],
      'icon-allow-overlap': true,
      'icon-ignore-placement': true,
    },
  });
}

/** An arrow head that looks up, edged with paper so that it is seen on a wide line. */
function head(): ImageData {
  const size = 40;
  const image = new ImageData(size, size);
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      const inner = inside(x, y, size, 6);
      const outer = inside(x, y, size, 2);
      if (outer) image.data.set(inner ? [20, 32, 43, 255] : [251, 250, 246, 255], (y * size + x) * 4);
    }
  }
  return image;
}

const inside = (x: number, y: number, size: number, edge: number) =>
  y > edge && y < size - edge && Math.abs(x + 0.5 - size / 2) < ((y - edge) / size) * (size / 2 - edge / 2);

/** What widths and dashes mean. */
export function FlowKey() {
  const steps: Certainty[] = ['firm', 'loose', 'guess'];
  return (
    <>
      <p className="when">{say('flows.key')}</p>
      <ul className="key">
        {steps.map((s) => (
          <li key={s}>
            <svg width="48" height="12" aria-hidden="true">
              <path
                d="M0 6H48"
                stroke="currentColor"
                strokeWidth="5"
                strokeOpacity={strokes[s].opacity}
                strokeDasharray={strokes[s].dash?.map((d) => d * 5).join(' ')}
              />
            </svg>
            {say(`flows.${s}`)}
          </li>
        ))}
      </ul>
    </>
  );
}
