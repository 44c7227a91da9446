import './phone.css';
import { useState } from 'react';
import { acceptedPassphrase, contentOf, download, lock, newPassphrase } from '../copy/copy.ts';
import { useStatus } from '../local/hooks.ts';
import { KEEP_SENT_DAYS, local, type PhoneRecord } from '../local/index.ts';
import { localeOf, useLanguage, useSay } from '../messages/index.tsx';
import { sync, useSync } from '../sync/index.ts';
import { useApp, usePhone } from './hooks.ts';
import { inTheWay, reasonIn } from './inTheWay.ts';
import { warnings } from './phone.ts';
import { changeOver, lookForVersion } from './updates.ts';

/** What is kept where: the three words with their counts, what needs somebody, copies, and the app itself. */
export function Kept() {
  const say = useSay();
  const when = useWhen();
  const status = useStatus();
  const phone = usePhone();
  return (
    <div className="phone-page">
      <h1>{say('kept.title')}</h1>
      {status.trouble ? (
        <p className="phone-problem" role="alert">
          {say(`store.${status.trouble.why}`)}
        </p>
      ) : null}
      <Counts />
      <NeedsYou />
      <section aria-labelledby="kept-places">
        <h2 id="kept-places">{say('kept.where')}</h2>
        <dl className="phone-places">
          <dt>{say('kept.open')}</dt>
          <dd>{say('kept.openWhere')}</dd>
          <dt>{say('kept.finished')}</dt>
          <dd>
            {say('kept.finishedWhere')} {say(`kept.spare.${status.secondCopy}`)}{' '}
            {say('kept.leaves', { days: KEEP_SENT_DAYS })}
          </dd>
          <dt>{say('kept.photo')}</dt>
          <dd>{say('kept.photoWhere')}</dd>
          <dt>{say('kept.reference')}</dt>
          <dd>
            {status.referenceAt
              ? say('kept.referenceAt', { when: when(status.referenceAt) })
              : say('kept.referenceNone')}{' '}
            {say('kept.unlocked')}
          </dd>
        </dl>
      </section>
      <TakeCopy />
      <section aria-labelledby="kept-phone">
        <h2 id="kept-phone">{say('kept.phone')}</h2>
        <ul>
          {warnings(status, phone).map((w) => (
            <li key={w.code}>{say(`warn.${w.code}`, w.values)}</li>
          ))}
          {phone.freeBytes === undefined ? null : (
            <li>{say('kept.free', { mb: Math.round(phone.freeBytes / 1e6) })}</li>
          )}
          {status.enrolment ? (
            <li>
              {say(status.enrolment.demo ? 'kept.enrolledDemo' : 'kept.enrolled', {
                name: status.enrolment.name,
                role: say(`kept.role.${status.enrolment.role}`),
              })}
            </li>
          ) : null}
        </ul>
        <Version />
      </section>
    </div>
  );
}

/** Writes a day and a time of day as the language of the screens does. */
function useWhen(): (at: string) => string {
  const locale = localeOf(useLanguage());
  return (at) =>
    new Date(at).toLocaleString(locale, {
      weekday: 'short',
      day: 'numeric',
      month: 'short',
      hour: '2-digit',
      minute: '2-digit',
    });
}

function Counts() {
  const say = useSay();
  const when = useWhen();
  const { onPhone, sent, needsYou, drafts, photosWaiting, photosSent, lastSentAt } = useStatus();
  const link = useSync();
  return (
    <section aria-labelledby="kept-now">
      <h2 id="kept-now">{say('kept.now')}</h2>
      <table className="phone-counts">
        <thead>
          <tr>
            <th scope="col">{say('kept.state')}</th>
            <th scope="col">{say('kept.records')}</th>
            <th scope="col">{say('kept.photos')}</th>
          </tr>
        </thead>
        <tbody>
          <tr>
            <th scope="row">{say('kept.onPhone')}</th>
            <td>{onPhone}</td>
            <td>{photosWaiting}</td>
          </tr>
          <tr>
            <th scope="row">{say('kept.sent')}</th>
            <td>{sent}</td>
            <td>{photosSent}</td>
          </tr>
          <tr>
            <th scope="row">{say('kept.needsYou')}</th>
            <td colSpan={2}>{needsYou}</td>
          </tr>
        </tbody>
      </table>
      <p>{say('kept.drafts', { n: drafts })}</p>
      <p role="status">
        {lastSentAt ? say('kept.lastSent', { when: when(lastSentAt) }) : say('kept.neverSent')}{' '}
        {link.phase === 'sending' ? say('kept.sending') : inTheWay(say, link)}
      </p>
    </section>
  );
}

function NeedsYou() {
  const say = useSay();
  const when = useWhen();
  useStatus(); // the list changes with it
  const records = local.records().filter((r) => r.state === 'needsYou');
  const photos = local.photos.list().filter((p) => p.state === 'needsYou');
  if (records.length + photos.length === 0) return null;
  return (
    <section aria-labelledby="kept-needs">
      <h2 id="kept-needs">{say('kept.needsYou')}</h2>
      <ul className="phone-list">
        {records.map((r) => (
          <Needing key={r.entry.id} record={r} />
        ))}
        {photos.map((p) => (
          <li key={p.sha256}>
            <strong>{say('kept.photoOf', { when: when(p.takenAt) })}</strong>
            <p>{reasonIn(say, p.reason)}</p>
            <button type="button" onClick={() => void local.photos.tryAgain(p.sha256).then(() => sync.poke())}>
              {say('kept.again')}
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}

function Needing({ record }: { record: PhoneRecord }) {
  const say = useSay();
  const when = useWhen();
  const { entry, reason, errors } = record;
  const kind = say('kept.kind', { kind: entry.kind.replaceAll('_', ' ') });
  const [sure, setSure] = useState(false);
  const [problem, setProblem] = useState('');
  const run = (work: Promise<unknown>) =>
    void work.catch((error: unknown) => setProblem(error instanceof Error ? error.message : String(error)));
  return (
    <li>
      <strong>{entry.madeAt ? say('kept.recordOf', { kind, when: when(entry.madeAt) }) : kind}</strong>
      <p>{reasonIn(say, reason)}</p>
      {errors?.length ? (
        <ul>
          {errors.map((e) => (
            <li key={`${e.field}${e.accepted}`}>
              {say(e.value ? 'kept.faultOf' : 'kept.fault', {
                field: e.field,
                value: e.value ?? '',
                accepted: e.accepted,
              })}
            </li>
          ))}
        </ul>
      ) : null}
      {problem ? <p className="phone-problem">{problem}</p> : null}
      <div className="phone-pair">
        <button type="button" onClick={() => run(local.tryAgain(entry.id).then(() => sync.poke()))}>
          {say('kept.again')}
        </button>
        {sure ? (
          <button type="button" onClick={() => run(local.letGo(entry.id))}>
            {say('kept.takeOffSure')}
          </button>
        ) : (
          <button type="button" onClick={() => setSure(true)}>
            {say('kept.takeOff')}
          </button>
        )}
      </div>
    </li>
  );
}

function TakeCopy() {
  const say = useSay();
  const [words, setWords] = useState('');
  const [saved, setSaved] = useState('');
  const [problem, setProblem] = useState('');
  const save = async () => {
    setProblem('');
    if (!acceptedPassphrase(words)) return setProblem(say('kept.noWords'));
    try {
      setSaved(download(await lock(await contentOf(local), words)));
    } catch (error) {
      setProblem(say('kept.copyFailed', { why: error instanceof Error ? error.message : String(error) }));
    }
  };
  return (
    <section aria-labelledby="kept-copy">
      <h2 id="kept-copy">{say('kept.copy')}</h2>
      <p>{say('kept.copyWhy')}</p>
      <label htmlFor="kept-words">{say('kept.words')}</label>
      <input
        id="kept-words"
        value={words}
        onChange={(e) => setWords(e.target.value)}
        autoComplete="off"
        autoCapitalize="off"
        spellCheck={false}
      />
      <button type="button" onClick={() => setWords(newPassphrase())}>
        {say('kept.makeWords')}
      </button>
      <p className="phone-hint">{say('kept.wordsHint')}</p>
      {problem ? (
        <p className="phone-problem" role="alert">
          {problem}
        </p>
      ) : null}
      <button type="button" className="phone-big" onClick={() => void save()}>
        {say('kept.saveCopy')}
      </button>
      {saved ? <p role="status">{say('kept.copySaved', { file: saved })}</p> : null}
    </section>
  );
}

function Version() {
  const say = useSay();
  const { worksOffline, newVersion } = useApp();
  const { drafts } = useStatus();
  const open = drafts > 0 && boatOpen();
  return (
    <>
      <p>{say(worksOffline ? 'kept.opensOffline' : 'kept.needsNetwork')}</p>
      {newVersion ? (
        <p role="status">
          {say('kept.newer')}{' '}
          {open ? (
            say('kept.newerLater')
          ) : (
            <button type="button" onClick={() => void changeOver()}>
              {say('kept.useNewer')}
            </button>
          )}
        </p>
      ) : (
        <button type="button" onClick={() => void lookForVersion().catch(() => undefined)}>
          {say('kept.lookNewer')}
        </button>
      )}
    </>
  );
}

/** A boat or a wash is open: the app does not change under it. */
export function boatOpen(): boolean {
  return local
    .loadDrafts<{ kind?: string } | null>()
    .some(({ value }) => value?.kind !== 'shift' && value?.kind !== 'done');
}
