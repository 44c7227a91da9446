import './phone.css';
import { type ReactNode, useEffect, useState } from 'react';
import { useStatus } from '../local/hooks.ts';
import { local } from '../local/index.ts';
import { useSay } from '../messages/index.tsx';
import { SetUp } from './SetUp.tsx';
import { begun } from './start.ts';

/**
 * Stands before the screens: opens the journal, sets the phone up where that has not been done, and says so where this
 * window only shows what another one keeps. `before` is done between the opening of the journal and the first screen.
 */
export function Gate({ before, children }: { before: () => Promise<void>; children: ReactNode }) {
  const say = useSay();
  const { ready, readOnly, enrolment } = useStatus();
  const [failed, setFailed] = useState<string>();
  const [done, setDone] = useState<boolean>();
  useEffect(() => {
    begun.then(
      async () => {
        const [isDone] = await Promise.all([local.recall<boolean>('setUpDone'), before()]);
        setDone(isDone ?? false);
      },
      (error: unknown) => setFailed(error instanceof Error ? error.message : String(error)),
    );
  }, [before]);
  if (failed !== undefined) return <NoStorage why={failed} />;
  if (!ready || done === undefined) return <p className="phone-page">{say('gate.opening')}</p>;
  if (!enrolment || !done) {
    const finish = () => {
      setDone(true);
      // Asked again at the next start where it could not be written; nothing else hangs on it.
      local.remember('setUpDone', true).catch(() => undefined);
    };
    return <SetUp done={finish} />;
  }
  return (
    <>
      {readOnly ? (
        <p className="phone-notice" role="status">
          {say('gate.twice')}
        </p>
      ) : null}
      {children}
    </>
  );
}

function NoStorage({ why }: { why: string }) {
  const say = useSay();
  return (
    <main className="phone-page">
      <h1>{say('gate.nothing')}</h1>
      <p>{say('gate.nothingWhy')}</p>
      <ul>
        <li>{say('gate.private')}</li>
        <li>{say('gate.allow')}</li>
        <li>{say('gate.paper')}</li>
      </ul>
      <p>{why}</p>
    </main>
  );
}
