import { moment } from '../clock.ts';
import { useKind, useMe, useProgramme } from '../data.ts';
import { Said } from '../parts/Correct.tsx';
import { JobLine } from '../parts/JobLine.tsx';
import { JobRefused } from '../parts/JobRefused.tsx';
import { KeptPlan } from '../parts/KeptPlan.tsx';
import { KeepPlan, KeptPlans } from '../parts/KeptPlans.tsx';
import { PlanForm } from '../parts/PlanForm.tsx';
import { PlanResult } from '../parts/PlanResult.tsx';
import { useFilters } from '../parts/query.ts';
import { Reading, Trouble } from '../parts/State.tsx';
import { useJob } from '../parts/useJob.ts';
import { type Plan, type Wishes, wishesOf } from '../plans.ts';
import { say } from '../words.ts';

const names = ['kept'] as const;

/**
 * Where and when to stand: wishes, the plan under them with its proof, and the plans that were kept. One of those is shown
 * instead of the latest where the address names it, and its wishes are those that the form begins with.
 */
export default function PlanPage() {
  const [{ kept }, set] = useFilters(names);
  const plans = useKind('plan');
  const launches = useKind('launch');
  const me = useMe();
  const programme = useProgramme();
  const { job, read, running, start, cancel, problem } = useJob('plan');
  if (launches.isPending || read.isPending || programme.isPending || plans.isPending) return <Reading />;
  if (launches.error) return <Trouble error={launches.error} />;
  if (read.error) return <Trouble error={read.error} />;
  const plan = job?.state === 'done' ? (job.result as Plan) : undefined;
  const asked = job?.input as Wishes | undefined;
  const shown = kept ? plans.data?.find((p) => p.id === kept) : undefined;
  const make = async (wishes: Wishes) => {
    if (await start(wishes)) set({ kept: '' }); // what was asked for now is the latest
  };
  return (
    <>
      <h1>{say('nav.plan')}</h1>
      <p className="lead">{say('plan.lead')}</p>
      {launches.data.length === 0 ? (
        <p className="state">{say('plan.noLaunches')}</p>
      ) : (
        <details open={!plan && !shown}>
          <summary>{say('plan.wishes')}</summary>
          <PlanForm
            launches={launches.data}
            costs={programme.data?.costs}
            last={shown ? wishesOf(shown.body) : asked}
            busy={running}
            start={(wishes) => void make(wishes)}
            key={shown?.id}
          />
        </details>
      )}
      {problem ? <Said problem={problem} /> : null}
      <JobLine job={job} cancel={() => void cancel()} />
      <JobRefused job={job} />
      {kept && !shown ? <p className="state">{say('plan.keptGone')}</p> : null}
      {job || shown ? null : <p className="state">{say('plan.none')}</p>}
      {shown ? <KeptPlan kept={shown} gone={() => set({ kept: '' })} /> : null}
      {plan && !shown ? (
        <section>
          <h2>{say('plan.result')}</h2>
          <p className="when">{say('plan.asOf', { at: moment(job?.endedAt) })}</p>
          <PlanResult plan={plan} />
          {plan.made && me.data?.role === 'manager' ? (
            <KeepPlan asked={asked ?? plan.wishes} plan={plan} key={job?.id} />
          ) : null}
        </section>
      ) : null}
      <KeptPlans />
    </>
  );
}
