import { type FormEvent, useEffect, useId, useState } from 'react';
import { useStatus } from '../local/hooks.ts';
import { useSay } from '../messages/index.tsx';
import { Hull } from '../shared/Hull.tsx';
import { canEnrol, demoCode, enrol, type ServerState, serverState, sync, useSync } from '../sync/index.ts';
import { useApp, usePhone } from './hooks.ts';
import { inTheWay } from './inTheWay.ts';
import { askToPersist, install } from './phone.ts';

/** Sets a phone up: whose it is, then the four things that make it safe to go where there is no signal. */
export function SetUp({ done }: { done: () => void }) {
  const { enrolment } = useStatus();
  return (
    <main className="phone-page">
      <p className="phone-brand">
        <Hull state="across" /> Thwart Ramp
      </p>
      {enrolment ? <Ready done={done} /> : <Enrol />}
    </main>
  );
}

/** An invite may come as a link or QR code: the code stands behind the # and is never sent to a server by the browser. */
function codeInAddress(): string {
  return new URLSearchParams(location.hash.slice(1)).get('code') ?? '';
}

function Enrol() {
  const say = useSay();
  const [server, setServer] = useState<ServerState | 'away'>();
  const [able, setAble] = useState(true);
  const [code, setCode] = useState(codeInAddress);
  const [name, setName] = useState('');
  const [problem, setProblem] = useState('');
  const [busy, setBusy] = useState(false);
  const { online } = usePhone();
  const ids = { code: useId(), name: useId() };
  // biome-ignore lint/correctness/useExhaustiveDependencies: asked again when the network comes back
  useEffect(() => {
    void canEnrol().then(setAble);
    serverState().then(setServer, () => setServer('away'));
  }, [online]);

  const run = async (work: () => Promise<unknown>) => {
    setBusy(true);
    setProblem('');
    try {
      await work();
      // A used code is not left in the address. The person may be on another screen by now: its place is left alone.
      if (codeInAddress()) history.replaceState(null, '', location.pathname);
    } catch (error) {
      setProblem(error instanceof TypeError ? say('setup.noServer') : String((error as Error).message));
    } finally {
      setBusy(false);
    }
  };
  const submit = (event: FormEvent) => {
    event.preventDefault();
    if (!code.trim()) return setProblem(say('setup.noCode'));
    if (!name.trim()) return setProblem(say('setup.noName'));
    void run(() => enrol(code, name.trim()));
  };

  if (!able) {
    return (
      <>
        <h1>{say('setup.old')}</h1>
        <p>{say('setup.oldWhy')}</p>
      </>
    );
  }
  return (
    <>
      <h1>{say('setup.title')}</h1>
      {server === 'away' ? <p role="status">{say('setup.away')}</p> : null}
      {typeof server === 'object' && server.needsSetup ? <p>{say('setup.noManager')}</p> : null}
      {typeof server === 'object' && server.demo ? (
        <section className="phone-box">
          <h2>{say('setup.demo')}</h2>
          <p>{say('setup.demoWhy')}</p>
          <div className="phone-pair">
            {(['steward', 'technician'] as const).map((role) => (
              <button
                key={role}
                type="button"
                className="phone-big"
                disabled={busy}
                onClick={() => run(async () => enrol(await demoCode(role), say(`setup.demoName.${role}`)))}
              >
                {say(`setup.demo.${role}`)}
              </button>
            ))}
          </div>
        </section>
      ) : null}
      <form onSubmit={submit} noValidate>
        <label htmlFor={ids.code}>{say('setup.code')}</label>
        <input
          id={ids.code}
          value={code}
          onChange={(e) => setCode(e.target.value)}
          autoComplete="one-time-code"
          autoCapitalize="characters"
          spellCheck={false}
          aria-describedby={`${ids.code}-hint`}
        />
        <p id={`${ids.code}-hint`} className="phone-hint">
          {say('setup.codeHint')}
        </p>
        <label htmlFor={ids.name}>{say('setup.name')}</label>
        <input
          id={ids.name}
          value={name}
          onChange={(e) => setName(e.target.value)}
          maxLength={80}
          autoComplete="off"
          aria-describedby={`${ids.name}-hint`}
        />
        <p id={`${ids.name}-hint`} className="phone-hint">
          {say('setup.nameHint')}
        </p>
        {problem ? (
          <p className="phone-problem" role="alert">
            {problem}
          </p>
        ) : null}
        <button type="submit" className="phone-big" disabled={busy}>
          {say(busy ? 'setup.asking' : 'setup.go')}
        </button>
      </form>
    </>
  );
}

function Ready({ done }: { done: () => void }) {
  const say = useSay();
  const { referenceAt, enrolment } = useStatus();
  const { worksOffline } = useApp();
  const phone = usePhone();
  const link = useSync();
  const ios = /iPhone|iPad/.test(navigator.userAgent);
  return (
    <>
      <h1>{say('setup.ready', { name: enrolment?.name ?? '' })}</h1>
      <ol className="phone-steps">
        <Step met={referenceAt !== undefined} name={say('setup.rules')}>
          {link.phase === 'waiting' ? inTheWay(say, link) : say('setup.fetching')}{' '}
          <button type="button" onClick={() => sync.poke(true)}>
            {say('setup.fetch')}
          </button>
        </Step>
        <Step met={worksOffline} name={say('setup.offline')}>
          {say('setup.offlineWhy')}
        </Step>
        <Step met={phone.installed} name={say('setup.home')}>
          {phone.canInstall ? (
            <button type="button" onClick={() => void install()}>
              {say('setup.install')}
            </button>
          ) : ios ? (
            say('setup.installShare')
          ) : (
            say('setup.installMenu')
          )}
        </Step>
        <Step met={phone.persistent === true} name={say('setup.keeps')}>
          {say(phone.persistent === false ? 'setup.keepsNot' : 'setup.keepsUnasked')}{' '}
          <button type="button" onClick={() => void askToPersist()}>
            {say('setup.ask')}
          </button>
        </Step>
      </ol>
      <button type="button" className="phone-big" onClick={done}>
        {say('setup.begin')}
      </button>
    </>
  );
}

function Step({ met, name, children }: { met: boolean; name: string; children: React.ReactNode }) {
  const say = useSay();
  return (
    <li className={met ? 'met' : 'open'}>
      <strong>{name}</strong>
      <p className="phone-state">{say(met ? 'setup.met' : 'setup.notMet')}</p>
      {met ? null : <p>{children}</p>}
    </li>
  );
}
