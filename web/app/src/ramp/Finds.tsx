import type { Finding, RoundStop } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { useSay } from '../messages/index.tsx';
import { Tile } from '../parts/Tiles.tsx';

const matters = ['plant', 'attached_animal', 'loose_animal', 'mud', 'water', 'egg', 'bait', 'other'] as const;
const counts = ['1', '2-10', '11-100', '>100'] as const;

/** The sheet's lines of finds, each at a stop by its number. */
export function Finds({ n, name, stops, found, onChange }: FindsProps) {
  const say = useSay();
  const change = (i: number, c: Partial<Finding>) => onChange(found.map((f, k) => (k === i ? { ...f, ...c } : f)));
  const add = () =>
    onChange([
      ...found,
      { id: local.newId(), place: stops[0]?.place ?? '', matter: 'plant', amount: '1', removed: 'none' },
    ]);
  return (
    <section aria-label={say(`key.${name}`)}>
      <h2>
        <span className="num">{n}</span> {say(`key.${name}`)}
      </h2>
      {found.map((f, i) => (
        <div key={f.id} className="box">
          <Pick
            id={`find-place-${i}`}
            label={say('found.where')}
            value={f.place}
            options={stops.map((s) => [s.place, `${s.number} ${s.name}`])}
            onChange={(place) => change(i, { place })}
          />
          <Pick
            id={`find-matter-${i}`}
            label={say('key.matter')}
            value={f.matter}
            options={matters.map((m) => [m, say(`matter.${m}`)])}
            onChange={(m) => change(i, { matter: m as Finding['matter'] })}
          />
          <Pick
            id={`find-amount-${i}`}
            label={say('found.amount')}
            value={f.amount ?? ''}
            options={counts.map((c) => [c, say(`amount.${c}`)])}
            onChange={(a) => change(i, { amount: a as (typeof counts)[number] })}
          />
          <Tile
            pressed={f.removed === 'all'}
            onClick={() => change(i, { removed: f.removed === 'all' ? 'none' : 'all' })}
          >
            {say('found.off')}
          </Tile>
          <Tile icon="undo" onClick={() => onChange(found.filter((_, k) => k !== i))}>
            {say('key.dropFind')}
          </Tile>
        </div>
      ))}
      <Tile icon="plant" disabled={stops.length === 0} onClick={add}>
        {say('key.addFind')}
      </Tile>
    </section>
  );
}
interface FindsProps {
  readonly n: number;
  readonly name: 'found';
  readonly stops: readonly RoundStop[];
  readonly found: readonly Finding[];
  readonly onChange: (f: readonly Finding[]) => void;
}

function Pick({ id, label, value, options, onChange }: PickProps) {
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <select id={id} value={value} onChange={(e) => onChange(e.target.value)}>
        {options.map(([v, word]) => (
          <option key={v} value={v}>
            {word}
          </option>
        ))}
      </select>
    </div>
  );
}
interface PickProps {
  readonly id: string;
  readonly label: string;
  readonly value: string;
  readonly options: readonly (readonly [string, string])[];
  readonly onChange: (v: string) => void;
}
