import 'maplibre-gl/dist/maplibre-gl.css';
import type { Feature, FeatureCollection } from 'geojson';
import { type Map as Chart, type GeoJSONSource, Map as MapLibre, NavigationControl, ScaleControl } from 'maplibre-gl';
import { useEffect, useMemo, useRef } from 'react';
import { Link, useLocation } from 'wouter';
import { type Named, useKind } from '../data.ts';
import { GroundLine, useGround } from '../parts/GroundLine.tsx';
import { bounds, nameWaters, style, waterShapes } from '../parts/mapping.ts';
import { statusWord } from '../parts/Shore.tsx';
import { Reading } from '../parts/State.tsx';
import { Wide } from '../parts/Wide.tsx';
import { worst } from '../waters.ts';
import { say } from '../words.ts';

/** The region: waters by what lives in them, launches, wash units. The same can be read as a table below it. */
export default function RegionMap() {
  const waters = useKind('water');
  const launches = useKind('launch');
  const units = useKind('unit');
  if (!waters.data || !launches.data || !units.data) return <Reading />;
  return (
    <>
      <h1>{say('nav.map')}</h1>
      <p className="lead">{say('map.lead')}</p>
      <Drawn waters={waters.data} launches={launches.data} units={units.data} />
      <Legend />
      <Table waters={waters.data} launches={launches.data} />
    </>
  );
}

const fill: Record<string, string> = {
  infested: '#14202b',
  positive: '#4a5a66',
  suspect: '#8a949c',
  not_looked: '#d9d4c6',
  not_found: '#ffffff',
  eradicated: '#ffffff',
};

function Drawn({
  waters,
  launches,
  units,
}: {
  waters: Named<'water'>[];
  launches: Named<'launch'>[];
  units: Named<'unit'>[];
}) {
  const frame = useRef<HTMLDivElement>(null);
  const chart = useRef<Chart | null>(null);
  const [, go] = useLocation();
  const ground = useGround(chart);
  const draw = useRef(ground.draw);
  draw.current = ground.draw;
  const shapes = useMemo(() => waterShapes(waters), [waters]);
  const points = useMemo(() => launchPoints(launches, units), [launches, units]);
  useEffect(() => {
    if (!frame.current || !ground.known) return;
    const map = new MapLibre({
      container: frame.current,
      style,
      attributionControl: false,
      bounds: bounds(waters),
      fitBoundsOptions: { padding: 30 },
    });
    chart.current = map;
    map.addControl(new NavigationControl({ showCompass: false }));
    map.addControl(new ScaleControl({}));
    map.on('load', () => {
      draw.current(map);
      map.addSource('waters', { type: 'geojson', data: shapes });
      map.addSource('launches', { type: 'geojson', data: points });
      addLayers(map);
    });
    map.on('click', 'water-fill', (event) => {
      const id = event.features?.[0]?.properties.id;
      if (id) go(`/waters/${id}`);
    });
    map.on('click', 'launch', (event) => {
      const id = event.features?.[0]?.properties.id;
      if (id) go(`/launches/${id}`);
    });
    const unname = nameWaters(
      map,
      waters.filter((w) => !w.body.outside),
    );
    return () => {
      unname();
      map.remove();
      chart.current = null;
    };
  }, [shapes, points, waters, go, ground.known]);
  useEffect(() => {
    const source = chart.current?.getSource('waters') as GeoJSONSource | undefined;
    source?.setData(shapes);
  }, [shapes]);
  return (
    <>
      <section ref={frame} className="region on-paper" aria-label={say('map.label')} />
      <GroundLine ground={ground} />
    </>
  );
}

function addLayers(map: Chart) {
  map.addImage('hatch', hatch());
  map.addLayer({
    id: 'water-fill',
    type: 'fill',
    source: 'waters',
    paint: { 'fill-color': ['match', ['get', 'status'], ...Object.entries(fill).flat(), '#d9d4c6'] as never },
  });
  map.addLayer({
    id: 'water-hatch',
    type: 'fill',
    source: 'waters',
    filter: ['in', ['get', 'status'], ['literal', ['', 'not_looked', 'unknown']]],
    paint: { 'fill-pattern': 'hatch' },
  });
  map.addLayer({ id: 'shore', type: 'line', source: 'waters', paint: { 'line-color': '#14202b', 'line-width': 1.2 } });
  map.addLayer({
    id: 'launch',
    type: 'circle',
    source: 'launches',
    paint: {
      'circle-radius': ['case', ['get', 'unit'], 8, 5],
      'circle-color': '#fbfaf6',
      'circle-stroke-color': '#0b5c7a',
      'circle-stroke-width': ['case', ['get', 'unit'], 4, 2.5],
    },
  });
}

/** Slanted lines for what nobody has looked at: never drawn as clean. */
function hatch(): ImageData {
  const size = 8;
  const image = new ImageData(size, size);
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      const on = (x + y) % size < 2;
      image.data.set([74, 90, 102, on ? 255 : 0], (y * size + x) * 4);
    }
  }
  return image;
}

function launchPoints(launches: Named<'launch'>[], units: Named<'unit'>[]): FeatureCollection {
  const washed = new Set(units.map((u) => u.body.launch));
  const features = launches.map(
    (l): Feature => ({
      type: 'Feature',
      geometry: { type: 'Point', coordinates: l.body.at as [number, number] },
      properties: { id: l.id, name: l.name, unit: washed.has(l.id) },
    }),
  );
  return { type: 'FeatureCollection', features };
}

function Legend() {
  return (
    <ul className="key on-paper">
      {['infested', 'positive', 'suspect', 'not_looked', 'not_found'].map((s) => (
        <li key={s}>
          <svg width="28" height="18" aria-hidden="true">
            <rect x="1" y="1" width="26" height="16" fill={fill[s]} stroke="#14202b" />
            {s === 'not_looked' ? <path d="M4 16 L14 2 M12 16 L22 2" stroke="#4a5a66" strokeWidth="2" /> : null}
          </svg>
          {statusWord(s)}
        </li>
      ))}
      <li>
        <svg width="20" height="20" aria-hidden="true">
          <circle cx="10" cy="10" r="5" fill="#fbfaf6" stroke="#0b5c7a" strokeWidth="2.5" />
        </svg>
        {say('map.launch')}
      </li>
      <li>
        <svg width="24" height="24" aria-hidden="true">
          <circle cx="12" cy="12" r="8" fill="#fbfaf6" stroke="#0b5c7a" strokeWidth="4" />
        </svg>
        {say('map.unit')}
      </li>
    </ul>
  );
}

function Table({ waters, launches }: { waters: Named<'water'>[]; launches: Named<'launch'>[] }) {
  return (
    <details>
      <summary>{say('map.table')}</summary>
      <Wide label={say('map.table')}>
        <table>
          <tbody>
            {waters.map((w) => {
              const { body } = w;
              return (
                <tr key={w.id}>
                  <th scope="row">
                    <Link href={`/waters/${w.id}`}>{w.name}</Link>
                  </th>
                  <td>{statusWord(worst(body))}</td>
                  <td>
                    {launches
                      .filter((l) => l.body.water === w.id)
                      .map((l) => l.name)
                      .join(', ')}
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </Wide>
    </details>
  );
}
