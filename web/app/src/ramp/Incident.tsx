import { useState } from 'react';
import type { Incident } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { localeOf, useLanguage, useSay } from '../messages/index.tsx';
import { Words } from '../parts/Field.tsx';
import { Icon } from '../parts/Icon.tsx';
import { Go, Tile, Tiles } from '../parts/Tiles.tsx';
import { day } from '../shared/units.ts';
import { Frame } from './Frame.tsx';
import { useNames } from './names.ts';
import { go, useRoute } from './route.ts';
import { isoLocal, useBoat, useRamp } from './state.tsx';

/** Whom to call: the programme's offices, as links that dial. They work where a voice call works, without data. */
export function Contacts() {
  const say = useSay();
  const { books } = useRamp();
  const contacts = books.programme?.contacts ?? [];
  return (
    <div className="contacts">
      {contacts.length === 0 ? <p className="box">{say('help.noContacts')}</p> : null}
      {contacts.map((c) => (
        <a key={c.role + c.phone} className="tile" href={`tel:${c.phone}`}>
          <Icon name="call" />
          <span className="tile-words">
            <span className="tile-word capital">{c.role}</span>
            <span className="tile-sub num">{c.phone}</span>
            {c.words ? <span className="tile-sub">{c.words}</span> : null}
          </span>
        </a>
      ))}
    </div>
  );
}

/** What to do now, without a signal and without remembering anything. */
export function Help() {
  const say = useSay();
  const { boats } = useRamp();
  const last = boats.at(-1);
  return (
    <Frame
      acts={
        <Go icon="call" onClick={() => go('incident', last?.id ?? '')} sub={say('help.incidentSub')}>
          {say('incident.raise')}
        </Go>
      }
    >
      <h1>{say('help.title')}</h1>
      <Contacts />
      <section className="box">
        <h2>{say('help.hurt')}</h2>
        <p>{say('help.hurtDo')}</p>
      </section>
      <section className="box">
        <h2>{say('help.words')}</h2>
        <dl className="facts">
          <dt>{say('help.onPhone')}</dt>
          <dd>{say('help.onPhoneMeans')}</dd>
          <dt>{say('help.sent')}</dt>
          <dd>{say('help.sentMeans')}</dd>
          <dt>{say('help.needsYou')}</dt>
          <dd>{say('help.needsYouMeans')}</dd>
        </dl>
      </section>
      <Tiles>
        <Tile icon="list" onClick={() => go('state')}>
          {say('home.state')}
        </Tile>
        <Tile icon="settings" onClick={() => go('settings')}>
          {say('home.settings')}
        </Tile>
      </Tiles>
    </Frame>
  );
}

const kinds = [
  'incident.live',
  'incident.mussel',
  'incident.threat',
  'incident.hurt',
  'incident.spill',
  'incident.other',
] as const;

/** The incident sheet: one tap for what it is, and it goes before everything else. Details can follow. */
export function IncidentSheet() {
  const say = useSay();
  const language = useLanguage();
  const ramp = useRamp();
  const names = useNames();
  const { id } = useRoute();
  const boat = useBoat(id);
  const [made, setMade] = useState<{ entry: string; what: string }>();
  const [note, setNote] = useState('');
  const raise = async (what: string) => {
    const body: Incident = {
      what,
      openedAt: isoLocal(new Date()),
      state: 'open',
      ...(boat?.sealed ? { encounter: boat.sealed.subject } : {}),
      ...(ramp.launch ? { water: ramp.launch.body.water } : {}),
    };
    let entry = '';
    const ok = await ramp.saving(async () => {
      entry = (await local.seal('incident', body)).id;
    });
    if (ok) setMade({ entry, what });
  };
  const add = async () => {
    const record = made && local.record<Incident>(made.entry);
    if (!record || !note.trim()) return;
    const line = { at: isoLocal(new Date()), by: ramp.me, text: note.trim() };
    const body = { ...record.entry.body, notes: [...(record.entry.body.notes ?? []), line] };
    const ok = await ramp.saving(async () => {
      const next = await local.seal('incident', body, {
        subject: record.entry.subject,
        supersedes: record.entry.id,
        why: say('incident.noteWhy'),
      });
      setMade({ entry: next.id, what: made.what });
    });
    if (ok) setNote('');
  };
  if (!made) {
    return (
      <Frame
        at="raise"
        acts={
          <Tiles>
            {kinds.map((k) => (
              <Tile key={k} onClick={() => raise(say(k))}>
                {say(k)}
              </Tile>
            ))}
          </Tiles>
        }
      >
        <h1>{say('incident.title')}</h1>
        <p>{say(boat?.sealed ? 'incident.forBoat' : 'incident.noBoat')}</p>
        <p className="standing">{say('incident.safe')}</p>
      </Frame>
    );
  }
  const state = local.record(made.entry)?.state ?? 'onPhone';
  return (
    <Frame at="raised" acts={<Go onClick={() => (id ? go('boat', id) : go('home'))}>{say('incident.back')}</Go>}>
      <h1>{made.what}</h1>
      <p className="box">
        {say(`record.${state}`)} {say('incident.first')}
      </p>
      <h2>{say('incident.callNow')}</h2>
      <Contacts />
      <section className="box">
        <h2>{say('incident.label')}</h2>
        <p className="num">{made.entry.slice(-8).toUpperCase()}</p>
        <p>
          {ramp.launch?.body.name} · {day(localeOf(language), new Date())} · {names.person(ramp.me)}
        </p>
        <p>{say('incident.labelHow')}</p>
      </section>
      <Words id="incident-note" label={say('incident.note')} most={1000} rows={2} value={note} onChange={setNote} />
      <Tile disabled={!note.trim()} onClick={add}>
        {say('incident.addNote')}
      </Tile>
    </Frame>
  );
}
