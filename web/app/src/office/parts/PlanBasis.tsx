import { useQuery } from '@tanstack/react-query';
import { Link } from 'wouter';
import { answer, api } from '../../shared/api.ts';
import { say } from '../words.ts';
import { Figures } from './Figures.tsx';
import { Reading, Trouble } from './State.tsx';

/** Figures of the season that a plan is computed from: who was met, how long somebody stood there, what was found. */
const restsOn = [
  'met',
  'arriving',
  'leaving',
  'steward_hours',
  'site_hours',
  'passed_by',
  'inspected',
  'found',
  'organism',
  'alive',
];

/** What a plan rests on, each figure with the records behind it. */
export function PlanBasis() {
  const read = useQuery({ queryKey: ['season', {}], queryFn: () => answer(api.GET('/api/season')) });
  if (read.isPending) return <Reading />;
  if (read.error) return <Trouble error={read.error} again={() => void read.refetch()} />;
  const figures = restsOn.flatMap((id) => read.data.figures.find((f) => f.id === id) ?? []);
  return (
    <>
      <h3>{say('plan.basis')}</h3>
      <p>
        {say('plan.basisLead')} <Link href="/season">{say('season.title')}</Link>,{' '}
        <Link href="/practice">{say('nav.practice')}</Link>.
      </p>
      <Figures label={say('plan.basis')} of={figures} />
    </>
  );
}

/** The records that the numbers of one launch rest on. */
export function LaunchRecords({ launch, name }: { launch: string; name: string }) {
  const to = [
    [`/ledger?launch=${launch}`, say('plan.records.met')],
    [`/season/records?figure=found&launch=${launch}`, say('plan.records.found')],
    [`/season?launch=${launch}`, say('plan.records.hours')],
  ] as const;
  return (
    <span className="records">
      {to.map(([href, word]) => (
        <Link key={href} href={href} aria-label={`${word}, ${name}`}>
          {word}
        </Link>
      ))}
    </span>
  );
}
