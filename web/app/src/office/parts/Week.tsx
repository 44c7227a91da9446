import { useState } from 'react';
import {
  type ByHand,
  dayWords,
  type Given,
  hoursWords,
  mondayOf,
  type Place,
  placeOf,
  type Row,
  weekOf,
  weeksOf,
} from '../rosters.ts';
import { say } from '../words.ts';
import { GivePlace } from './GivePlace.tsx';
import { Wide } from './Wide.tsx';

const same = (a: ByHand, b: ByHand) =>
  a.person === b.person && a.day === b.day && a.from === b.from && a.launch === b.launch;

/**
 * One week of a roster: a calendar by launch and day, in which a place is chosen to be given to somebody, and the same as a list
 * in which absences are written down.
 */
export function Week(props: {
  roster: string;
  rows: Row[];
  /** The Monday of the week that is shown; the first where it is none of the roster's. */
  week: string | undefined;
  show: (week: string) => void;
  give: (given: Given) => void;
  repair: (absent: ByHand[]) => void;
}) {
  const { rows } = props;
  const weeks = weeksOf(rows);
  const [absent, setAbsent] = useState<ByHand[]>([]);
  const [place, setPlace] = useState<Place>();
  const at = Math.max(0, weeks.indexOf(props.week ?? ''));
  const setAt = (n: number) => {
    setPlace(undefined);
    props.show(weeks[n] ?? '');
  };
  const monday = weeks[at] ?? '';
  const days = weekOf(monday);
  const here = rows.filter((r) => mondayOf(r.day) === monday);
  const toggle = (who: ByHand) =>
    setAbsent((all) => (all.some((a) => same(a, who)) ? all.filter((a) => !same(a, who)) : [...all, who]));
  return (
    <>
      <h2>{say('roster.week', { from: dayWords(monday), to: dayWords(days[6] ?? monday) })}</h2>
      <div className="filters">
        <button type="button" disabled={at === 0} onClick={() => setAt(at - 1)}>
          {say('roster.before')}
        </button>
        <label>
          {say('roster.weekOf')}
          <select value={monday} onChange={(event) => setAt(weeks.indexOf(event.target.value))}>
            {weeks.map((w) => (
              <option key={w} value={w}>
                {dayWords(w)}
              </option>
            ))}
          </select>
        </label>
        <button type="button" disabled={at === weeks.length - 1} onClick={() => setAt(at + 1)}>
          {say('roster.after')}
        </button>
        <button type="button" onClick={() => window.print()}>
          {say('roster.print')}
        </button>
      </div>
      <Calendar rows={here} days={days} chosen={place} choose={setPlace} />
      {place ? (
        <GivePlace roster={props.roster} place={place} give={props.give} close={() => setPlace(undefined)} />
      ) : null}
      <details className="list">
        <summary>{say('roster.list')}</summary>
        <List rows={here} absent={absent} toggle={toggle} />
      </details>
      {absent.length ? (
        <p className="effect" role="status">
          {say('roster.absent', { n: absent.length })}{' '}
          <button type="button" className="main" onClick={() => props.repair(absent)}>
            {say('roster.repair')}
          </button>
        </p>
      ) : null}
    </>
  );
}

const whenWhere = (r: Row) => ({ day: dayWords(r.day), hours: hoursWords(r), launch: r.name });

const samePlace = (a: Place | undefined, b: Place) =>
  a?.launch === b.launch && a.day === b.day && a.from === b.from && a.holder === b.holder;

function Calendar(props: { rows: Row[]; days: string[]; chosen: Place | undefined; choose: (place: Place) => void }) {
  const { rows, days } = props;
  const turn = (r: Row, word: string, label: string, holder?: string) => {
    const place = placeOf(r, holder);
    return (
      <button
        type="button"
        className={holder ? 'place' : 'place open'}
        key={holder ?? 'open'}
        aria-pressed={samePlace(props.chosen, place)}
        aria-label={label}
        onClick={() => props.choose(place)}
      >
        {word}
      </button>
    );
  };
  const launches = [...new Map(rows.map((r) => [r.launch, r.name]))].sort((a, b) => a[1].localeCompare(b[1]));
  return (
    <Wide label={say('roster.calendarTable')}>
      <table className="week">
        <caption>{say('roster.calendarTable')}</caption>
        <thead>
          <tr>
            <th scope="col">{say('plan.launch')}</th>
            {days.map((d) => (
              <th scope="col" key={d}>
                {dayWords(d)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {launches.map(([id, name]) => (
            <tr key={id}>
              <th scope="row">{name}</th>
              {days.map((d) => (
                <td key={d}>
                  {rows
                    .filter((r) => r.launch === id && r.day === d)
                    .map((r) => (
                      <div className={r.open ? 'turn short' : 'turn'} key={r.from}>
                        <span className="when">{hoursWords(r)}</span>
                        {r.people.map((p) =>
                          turn(r, p.name, say('roster.choose', { name: p.name, ...whenWhere(r) }), p.id),
                        )}
                        {r.open
                          ? turn(
                              r,
                              say('roster.open', { n: r.open }),
                              say('roster.chooseOpen', { n: r.open, ...whenWhere(r) }),
                            )
                          : null}
                      </div>
                    ))}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}

function List({ rows, absent, toggle }: { rows: Row[]; absent: ByHand[]; toggle: (who: ByHand) => void }) {
  const sorted = [...rows].sort(
    (a, b) => a.day.localeCompare(b.day) || a.from - b.from || a.name.localeCompare(b.name),
  );
  return (
    <Wide label={say('roster.list')}>
      <table>
        <caption>{say('roster.listLead')}</caption>
        <thead>
          <tr>
            <th scope="col">{say('roster.day')}</th>
            <th scope="col">{say('roster.hours')}</th>
            <th scope="col">{say('plan.launch')}</th>
            <th scope="col">{say('nav.people')}</th>
            <th scope="col" className="n">
              {say('roster.missing')}
            </th>
          </tr>
        </thead>
        <tbody>
          {sorted.map((r) => (
            <tr key={`${r.day}${r.from}${r.launch}`}>
              <th scope="row">{dayWords(r.day)}</th>
              <td>{hoursWords(r)}</td>
              <td>{r.name}</td>
              <td>
                {r.people.map((p) => {
                  const who = { day: r.day, from: r.from, launch: r.launch, person: p.id };
                  return (
                    <label className="tick" key={p.id}>
                      <input
                        type="checkbox"
                        checked={absent.some((a) => same(a, who))}
                        onChange={() => toggle(who)}
                        aria-label={say('roster.cannotOf', { name: p.name, day: dayWords(r.day), launch: r.name })}
                      />
                      {p.name}: {say('roster.cannot')}
                    </label>
                  );
                })}
              </td>
              <td className="n">{r.open || ''}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Wide>
  );
}
