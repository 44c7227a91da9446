import { useQuery } from '@tanstack/react-query';
import type { Map as Chart } from 'maplibre-gl';
import { type RefObject, useEffect, useState } from 'react';
import { answer, api } from '../../shared/api.ts';
import { say } from '../words.ts';
import { addGround, onGroundTrouble, showGround, type Tileset } from './ground.ts';

const kept = 'thwart.basemap';

/** The programme's own base map as a page uses it. */
export interface Ground {
  /** False while it is not yet known whether there is one. */
  known: boolean;
  tiles?: Tileset;
  on: boolean;
  turn: (on: boolean) => void;
  trouble: boolean;
  /** Draws it on a map that has just loaded, below whatever is added after. */
  draw: (map: Chart) => void;
}

/** A server that cannot tell counts as one without a base map: our own shapes are drawn all the same. */
export function useGround(chart: RefObject<Chart | null>): Ground {
  const read = useQuery({
    queryKey: ['basemap'],
    staleTime: Number.POSITIVE_INFINITY,
    queryFn: () => answer(api.GET('/api/basemap')),
  });
  const [on, setOn] = useState(() => localStorage.getItem(kept) !== 'off');
  const [trouble, setTrouble] = useState(false);
  const tiles = read.data?.tiles;
  useEffect(() => {
    if (chart.current && tiles) showGround(chart.current, tiles, on);
  }, [chart, tiles, on]);
  const turn = (to: boolean) => {
    localStorage.setItem(kept, to ? 'on' : 'off');
    setOn(to);
  };
  const draw = (map: Chart) => {
    if (!tiles) return;
    onGroundTrouble(map, () => setTrouble(true));
    addGround(map, tiles, on);
  };
  return { known: !read.isPending, tiles, on, turn, trouble, draw };
}

/** The choice to leave the base map away, and whom it is owed to. Nothing where there is none. */
export function GroundLine({ ground }: { ground: Ground }) {
  if (!ground.tiles) return null;
  const owed = ground.tiles.attribution ?? [];
  return (
    <div className="ground">
      <label className="tick">
        <input type="checkbox" checked={ground.on} onChange={(event) => ground.turn(event.target.checked)} />
        {say('map.base')}
      </label>
      {ground.trouble ? <p role="status">{say('map.baseTrouble')}</p> : null}
      {ground.on && owed.length > 0 ? (
        <p className="when">
          {say('map.baseFrom')}{' '}
          {owed.map((piece) => (
            <span key={piece.text}>
              {piece.link ? (
                <a href={piece.link} rel="noreferrer">
                  {piece.text}
                </a>
              ) : (
                piece.text
              )}{' '}
            </span>
          ))}
        </p>
      ) : null}
    </div>
  );
}
