import { moment } from '../clock.ts';
import { useKind, useMe, useProgramme } from '../data.ts';
import { Said } from '../parts/Correct.tsx';
import { JobLine } from '../parts/JobLine.tsx';
import { JobRefused } from '../parts/JobRefused.tsx';
import { KeepPlan, KeptPlans } from '../parts/KeptPlans.tsx';
import { PlanForm } from '../parts/PlanForm.tsx';
import { PlanResult } from '../parts/PlanResult.tsx';
import { Reading, Trouble } from '../parts/State.tsx';
import { useJob } from '../parts/useJob.ts';
import type { Plan, Wishes } from '../plans.ts';
import { say } from '../words.ts';

/** Where and when to stand: wishes, the plan under them with its proof, and the plans that were kept. */
export default function PlanPage() {
  const launches = useKind('launch');
  const me = useMe();
  const programme = useProgramme();
  const { job, read, running, start, cancel, problem } = useJob('plan');
  if (launches.isPending || read.isPending || programme.isPending) return <Reading />;
  if (launches.error) return <Trouble error={launches.error} />;
  if (read.error) return <Trouble error={read.error} />;
  const plan = job?.state === 'done' ? (job.result as Plan) : undefined;
  return (
    <>
      <h1>{say('nav.plan')}</h1>
      <p className="lead">{say('plan.lead')}</p>
      {launches.data.length === 0 ? (
        <p className="state">{say('plan.noLaunches')}</p>
      ) : (
        <details open={!plan}>
          <summary>{say('plan.wishes')}</summary>
          <PlanForm
            launches={launches.data}
            costs={programme.data?.costs}
            last={job?.input as Wishes | undefined}
            busy={running}
            start={(wishes) => void start(wishes)}
          />
        </details>
      )}
      {problem ? <Said problem={problem} /> : null}
      <JobLine job={job} cancel={() => void cancel()} />
      <JobRefused job={job} />
      {job ? null : <p className="state">{say('plan.none')}</p>}
      {plan ? (
        <section>
          <h2>{say('plan.result')}</h2>
          <p className="when">{say('plan.asOf', { at: moment(job?.endedAt) })}</p>
          <PlanResult plan={plan} />
          {plan.made && me.data?.role === 'manager' ? <KeepPlan plan={plan} key={job?.id} /> : null}
        </section>
      ) : null}
      <KeptPlans />
    </>
  );
}
