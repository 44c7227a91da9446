import { type FormEvent, useId, useState } from 'react';
import type { Named } from '../data.ts';
import { cellKey, cellsOf, pinned, pinOf, type Wishes } from '../plans.ts';
import { say, type Word } from '../words.ts';
import { type Body, type Field, valueAt } from './Input.tsx';
import { Fields } from './Rows.tsx';
import { Wide } from './Wide.tsx';

interface Costs {
  currency?: string;
  perStewardHour?: number;
}

/** What an hour costs where it is left out: the programme's own cost, else the engine's default. */
function hourCostHint(costs: Costs | undefined): string {
  const { currency = '', perStewardHour } = costs ?? {};
  return perStewardHour
    ? say('plan.hourCostOwn', { cost: `${currency} ${perStewardHour.toLocaleString('en')}`.trim() })
    : say('plan.hourCostHint');
}

const fields = (hourCost: string): Field[] => [
  { path: 'money', word: say('plan.money'), kind: 'number', hint: say('plan.moneyHint') },
  { path: 'hours', word: say('plan.hours'), kind: 'number', hint: say('plan.hoursHint') },
  { path: 'hourCost', word: say('plan.hourCost'), kind: 'number', hint: hourCost },
  { path: 'people', word: say('plan.people'), kind: 'number', hint: say('plan.peopleHint') },
  {
    path: 'policy',
    word: say('plan.policy'),
    kind: 'choice',
    options: (['arrival', 'departure', 'both'] as const).map((value) => ({ value, word: say(`plan.${value}`) })),
    hint: say('plan.policyHint'),
  },
  { path: 'units.count', word: say('plan.units'), kind: 'number', hint: say('plan.unitsHint') },
  { path: 'units.cost', word: say('plan.unitCost'), kind: 'number' },
  { path: 'units.hourCost', word: say('plan.crewCost'), kind: 'number', hint: say('plan.crewCostHint') },
  { path: 'robust', word: say('plan.robust'), kind: 'number', hint: say('plan.robustHint') },
  { path: 'frontier', word: say('plan.points'), kind: 'number', hint: say('plan.pointsHint') },
];

/** What a plan has to keep. Begins with what was last asked, so that a reload loses no wish that was ever sent. */
export function PlanForm(props: {
  launches: Named[];
  costs: Costs | undefined;
  last: Wishes | undefined;
  busy: boolean;
  start: (w: Wishes) => void;
}) {
  const [wishes, setWishes] = useState<Wishes>(() => props.last ?? { policy: 'arrival', frontier: 12 });
  const id = useId();
  const asked = fields(hourCostHint(props.costs));
  const wrong = asked.filter((f) => f.kind === 'number' && typeof valueAt(wishes, f.path) === 'string');
  const send = (event: FormEvent) => {
    event.preventDefault();
    if (wrong.length || props.busy) return;
    const { units, ...rest } = wishes;
    props.start(units?.count === undefined ? rest : wishes);
  };
  return (
    <form className="record-form" onSubmit={send} noValidate>
      <Fields
        fields={asked}
        body={wishes as Body}
        set={(body) => setWishes(body as Wishes)}
        wrong={(path) =>
          wrong.some((f) => f.path === path)
            ? { value: String(valueAt(wishes, path)), accepted: say('plan.aNumber') }
            : undefined
        }
        id={id}
      />
      <Teams wishes={wishes} set={setWishes} />
      <Presence launches={props.launches} wishes={wishes} set={setWishes} />
      <details open={Boolean(wishes.fixed?.length)}>
        <summary>{say('plan.byHand')}</summary>
        <Pins launches={props.launches} wishes={wishes} set={setWishes} />
      </details>
      <p>
        <button type="submit" className="main" disabled={props.busy || wrong.length > 0}>
          {say('plan.act')}
        </button>
      </p>
    </form>
  );
}

interface Part {
  launches: Named[];
  wishes: Wishes;
  set: (w: Wishes) => void;
}

/** Sizes of team that a shift may have, and what each gets through. */
function Teams({ wishes, set }: Omit<Part, 'launches'>) {
  const rows = wishes.teams ?? [];
  const write = (teams: typeof rows) => {
    const { teams: _, ...rest } = wishes;
    set(teams.length ? { ...rest, teams } : rest);
  };
  const number = (i: number, part: 'people' | 'perHour', word: string) => (
    <label>
      {word}
      <input
        type="number"
        min={1}
        value={rows[i]?.[part] ?? ''}
        onChange={(event) => write(rows.map((r, k) => (k === i ? { ...r, [part]: Number(event.target.value) } : r)))}
      />
    </label>
  );
  return (
    <fieldset className="presence">
      <legend>{say('plan.teams')}</legend>
      <p>{say(rows.length ? 'plan.teamsLead' : 'plan.teamsNone')}</p>
      {rows.map((_, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: two rows may be alike while they are typed
        <div className="inline" key={i}>
          {number(i, 'people', say('plan.teamPeople'))}
          {number(i, 'perHour', say('plan.teamPerHour'))}
          <button type="button" onClick={() => write(rows.filter((_r, k) => k !== i))}>
            {say('plan.takeOut')}
          </button>
        </div>
      ))}
      <p>
        <button
          type="button"
          onClick={() => write([...rows, { people: rows.length + 1, perHour: 8 * (rows.length + 1) }])}
        >
          {say('plan.addTeam')}
        </button>
      </p>
    </fieldset>
  );
}

/** Hours that a launch is to have in any case. */
function Presence({ launches, wishes, set }: Part) {
  const rows = wishes.minimum ?? [];
  const write = (minimum: typeof rows) => {
    const { minimum: _, ...rest } = wishes;
    set(minimum.length ? { ...rest, minimum } : rest);
  };
  return (
    <fieldset className="presence">
      <legend>{say('plan.presence')}</legend>
      {rows.map((row, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: two rows may name one launch while they are typed
        <div className="inline" key={i}>
          <label>
            {say('plan.launch')}
            <select
              value={row.launch}
              onChange={(event) => write(rows.map((r, k) => (k === i ? { ...r, launch: event.target.value } : r)))}
            >
              {launches.map((l) => (
                <option key={l.id} value={l.id}>
                  {l.name}
                </option>
              ))}
            </select>
          </label>
          <label>
            {say('plan.presenceHours')}
            <input
              type="number"
              min={0}
              value={row.hours}
              onChange={(event) =>
                write(rows.map((r, k) => (k === i ? { ...r, hours: Number(event.target.value) } : r)))
              }
            />
          </label>
          <button type="button" onClick={() => write(rows.filter((_, k) => k !== i))}>
            {say('plan.takeOut')}
          </button>
        </div>
      ))}
      <p>
        <button
          type="button"
          disabled={launches.length === 0}
          onClick={() => write([...rows, { launch: launches[0]?.id ?? '', hours: 100 }])}
        >
          {say('plan.addPresence')}
        </button>
      </p>
    </fieldset>
  );
}

/** The parts of the week by launch: each is left to the plan, decided for, or decided against. */
function Pins({ launches, wishes, set }: Part) {
  const cells = cellsOf(wishes);
  return (
    <Wide label={say('plan.byHand')}>
      <table className="pins">
        <caption>{say('plan.byHandLead')}</caption>
        <thead>
          <tr>
            <th scope="col">{say('plan.launch')}</th>
            {cells.map((c) => (
              <th scope="col" key={cellKey(c)}>
                {cellWords(c)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {[...launches]
            .sort((a, b) => a.name.localeCompare(b.name))
            .map((l) => (
              <tr key={l.id}>
                <th scope="row">{l.name}</th>
                {cells.map((c) => {
                  const pin = pinOf(wishes, l.id, c);
                  const words = say(`plan.pin.${pin}` as Word);
                  return (
                    <td key={cellKey(c)}>
                      <button
                        type="button"
                        className={`pin ${pin}`}
                        aria-label={`${words}: ${l.name}, ${cellWords(c)}`}
                        onClick={() => set(pinned(wishes, l.id, c))}
                      >
                        {words}
                      </button>
                    </td>
                  );
                })}
              </tr>
            ))}
        </tbody>
      </table>
    </Wide>
  );
}

export function cellWords(c: { day: string; block: string; from: number; to: number }): string {
  return `${say(c.day === 'weekday' ? 'plan.weekday' : 'plan.freeDay')}, ${c.block} ${c.from}–${c.to}`;
}
