import { useState } from 'react';
import type { Encounter, Shift } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { useSay } from '../messages/index.tsx';
import { Field, Words } from '../parts/Field.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { saidWeather } from './drafts.ts';
import { Frame } from './Frame.tsx';
import { go } from './route.ts';
import { isoLocal, useRamp } from './state.tsx';
import { sealTally } from './Tally.tsx';

/** The clicker and the records may differ by so much before somebody is asked why. */
const DIFFER = 0.05;

/** Closing a shift: nothing open, the counts compared, and nothing lost. */
export function CloseShift() {
  const say = useSay();
  const ramp = useRamp();
  const [clicker, setClicker] = useState('');
  const [without, setWithout] = useState(false);
  const [why, setWhy] = useState('');
  const { shift, boats, washes, status } = ramp;
  if (!shift) return null;
  const met = local
    .records<Encounter>('inspection')
    .filter((r) => r.entry.body.shift === shift.entry && !r.entry.supersedes).length;
  const t = shift.counted;
  const pending = shift.tally;
  const counted = t.passedBy + t.refused + t.turnedAway + pending.passedBy + pending.refused + pending.turnedAway;
  const all = met + counted;
  const clicks = Number(clicker);
  const given = clicker.trim() !== '' && Number.isInteger(clicks) && clicks >= 0 && clicks <= 5000;
  const none = without && clicker.trim() === '';
  const differs = given && Math.abs(clicks - all) > DIFFER * Math.max(clicks, all, 1);
  const open = boats.length + washes.length;
  const close = async () => {
    if (!(await sealTally(ramp, shift))) return;
    const to = isoLocal(new Date());
    const body: Shift = {
      launch: shift.launch,
      people: [...shift.people],
      from: shift.from,
      to,
      ...(given ? { clicker: clicks } : {}),
      ...saidWeather(shift),
      ...(why.trim() ? { note: why.trim() } : {}),
    };
    const ok = await ramp.saving(async () => {
      await local.seal('shift', body, {
        subject: shift.entry,
        supersedes: shift.entry,
        why: say('close.why'),
        draft: shift.id,
      });
    });
    if (!ok) return;
    await ramp.drop(shift.id);
    for (const d of ramp.dones) await ramp.drop(d.id);
    await ramp.saving(() => local.prune(true));
    go('state');
  };
  return (
    <Frame
      acts={
        <Go onClick={close} disabled={open > 0 || !(given || none) || (differs && why.trim().length < 3)}>
          {say('close.close')}
        </Go>
      }
    >
      <h1>{say('close.title')}</h1>
      {open > 0 ? (
        <section className="trouble">
          <p>{say('close.open', { n: open })}</p>
          <Link icon="boats" onClick={() => go('home')}>
            {say('close.toOpen')}
          </Link>
        </section>
      ) : null}
      <Stacks />
      <dl className="facts box">
        <dt>{say('close.met')}</dt>
        <dd className="num">{met}</dd>
        <dt>{say('close.counted')}</dt>
        <dd className="num">{counted}</dd>
      </dl>
      <Field id="clicker" label={say('close.clicker')}>
        <input
          id="clicker"
          inputMode="numeric"
          value={clicker}
          onChange={(e) => setClicker(e.target.value)}
          aria-describedby="clicker-says"
        />
        <p id="clicker-says" role="status" className={differs ? 'wrong' : ''}>
          {clicker && !given
            ? say('close.range', { given: clicker })
            : differs
              ? say('close.differs', { clicks, all })
              : given
                ? say('close.agrees')
                : none
                  ? ''
                  : say('close.needed')}
        </p>
      </Field>
      {clicker.trim() === '' ? (
        <Tile pressed={none} onClick={() => setWithout(!without)}>
          {say('close.without')}
        </Tile>
      ) : null}
      {differs ? (
        <>
          <Tiles>
            <Tile icon="tally" onClick={() => go('tally')}>
              {say('close.addTally')}
            </Tile>
            <Tile pressed={why === say('close.doubleClick')} onClick={() => setWhy(say('close.doubleClick'))}>
              {say('close.doubleClick')}
            </Tile>
          </Tiles>
          <Words id="close-why" label={say('close.whyDiffers')} most={500} value={why} onChange={setWhy} />
        </>
      ) : null}
      {status.onPhone > 0 ? <p>{say('close.waiting', { n: status.onPhone })}</p> : null}
    </Frame>
  );
}

/** Three stacks: on this phone, sent, needs you. Records and photos apart. */
export function Stacks() {
  const say = useSay();
  const { status: s } = useRamp();
  const stack = (name: string, n: number, more: string, kind: string) => (
    <div className={`stack stack-${kind}`}>
      <span className="big-num">{n}</span>
      <span className="row-name">{name}</span>
      <span className="row-say">{more}</span>
    </div>
  );
  return (
    <div className="stacks">
      {stack(say('help.onPhone'), s.onPhone, say('stacks.photos', { n: s.photosWaiting }), 'phone')}
      {stack(say('help.sent'), s.sent, say('stacks.photos', { n: s.photosSent }), 'sent')}
      {stack(say('help.needsYou'), s.needsYou, s.needsYou ? say('stacks.look') : '', 'needs')}
    </div>
  );
}
