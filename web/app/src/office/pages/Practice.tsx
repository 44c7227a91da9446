import { useQuery } from '@tanstack/react-query';
import { Link } from 'wouter';
import { answer, api, type Schemas } from '../../shared/api.ts';
import { useMe } from '../data.ts';
import { Bar } from '../parts/Bar.tsx';
import { How } from '../parts/How.tsx';
import { Reading, Trouble } from '../parts/State.tsx';
import { Table } from '../parts/Table.tsx';
import { Wide } from '../parts/Wide.tsx';
import { say } from '../words.ts';

/** What people find and miss, with limits: advice on what to practise, never an order of people. */
export default function Practice() {
  const read = useQuery({ queryKey: ['skill'], queryFn: () => answer(api.GET('/api/skill')) });
  const standings = useQuery({ queryKey: ['standings'], queryFn: () => answer(api.GET('/api/standings')) });
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} />;
  const report = read.data;
  const due = report.people.filter((p) => p.dueNow || p.dueWeek || p.questionsSay.length);
  return (
    <>
      <h1>{say('nav.practice')}</h1>
      <p className="lead">
        {say('practice.lead', { trials: report.trials, drills: report.drills, looks: report.secondLooks })}
      </p>
      <p>
        <Link href="/practice/craft">{say('practice.begin')}</Link>
      </p>
      <p>
        <Link href="/practice/curricula">{say('curricula.title')}</Link>
      </p>
      <p>
        <Link href="/practice/trials">{say('trials.title')}</Link>
      </p>
      <p>
        <a href="/api/handbook" download>
          {say('practice.handbook')}
        </a>
      </p>
      {report.notes.map((n) => (
        <p key={n}>{n}</p>
      ))}
      <h2>{say('practice.classes')}</h2>
      <Classes of={report.classes} />
      <h2>{say('practice.due')}</h2>
      {due.length === 0 ? <p>{say('practice.nobody')}</p> : null}
      <ul>
        {due.map((p) => (
          <li key={p.person}>
            <Link href={`/people/${p.person}`}>{p.name}</Link> {[p.dueSays, ...p.questionsSay].join(' ')}
          </li>
        ))}
      </ul>
      <h2>{say('practice.people')}</h2>
      <p>{say('practice.peopleLead', { least: report.least })}</p>
      {[...report.people]
        .sort((a, b) => a.name.localeCompare(b.name))
        .map((p) => (
          <Person key={p.person} of={p} standing={standings.data?.items?.find((s) => s.person === p.person)} />
        ))}
    </>
  );
}

// Spaces that do not break: a number stays with its sign, and an interval is in one line.
const percent = (v: number) => `${Math.round(v * 100)}\u00a0%`;
const range = (r: Schemas['Range']) => `${percent(r.mid)} (${percent(r.lo)}\u00a0–\u2060\u00a0${percent(r.hi)})`;

/** How many were found, leading to the planted objects among them for who may see those. */
function Found({ of, person }: { of: { class: string; found: number; trials: number }; person?: string }) {
  const me = useMe();
  const words = say('practice.ofTrials', { found: of.found, trials: of.trials });
  if (me.data?.role !== 'manager' || of.trials === 0) return words;
  const query = new URLSearchParams({ class: of.class, ...(person && { person }) });
  return <Link href={`/practice/trials/records?${query}`}>{words}</Link>;
}

function Classes({ of }: { of: Schemas['ClassSkill'][] }) {
  return (
    <>
      <Table
        className="roomy"
        label={say('practice.classes')}
        rows={of}
        id={(c) => c.class}
        parts={[
          { head: say('practice.class'), cell: (c) => c.words },
          { head: say('practice.found'), n: true, cell: (c) => <Found of={c} /> },
          {
            head: say('practice.mean'),
            cell: (c) => (
              <>
                <Bar lo={c.mean.lo} mid={c.mean.mid} hi={c.mean.hi} top={1} words={range(c.mean)} /> {range(c.mean)}
              </>
            ),
          },
          { head: say('practice.newcomer'), cell: (c) => range(c.newcomer) },
          { head: say('practice.alarms'), cell: (c) => c.alarms },
        ]}
      />
      <How>{say('practice.how')}</How>
    </>
  );
}

function Person({ of, standing }: { of: Schemas['PersonSkill']; standing: Schemas['Standing'] | undefined }) {
  return (
    <details>
      <summary>
        <b>{of.name}</b>
      </summary>
      {of.says.map((s) => (
        <p key={s}>{s}</p>
      ))}
      <Wide label={say('nav.practice')}>
        <table>
          <tbody>
            {of.classes.map((c) => (
              <tr key={c.class}>
                <th scope="row">{c.words}</th>
                <td className="n">
                  <Found of={c} person={of.person} />
                </td>
                <td>
                  {c.chance ? (
                    <Bar lo={c.chance.lo} mid={c.chance.mid} hi={c.chance.hi} top={1} words={range(c.chance)} />
                  ) : null}
                </td>
                <td>{c.says}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      {of.practise?.length ? (
        <>
          <p>{say('practice.next')}</p>
          <ul>
            {of.practise.map((p) => (
              <li key={p.class + p.part}>{p.says}</li>
            ))}
          </ul>
        </>
      ) : null}
      {standing?.certificates.map((c) => (
        <p key={c.for + c.from}>{c.says}</p>
      ))}
    </details>
  );
}
