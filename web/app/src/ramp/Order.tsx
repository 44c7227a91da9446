import { useState } from 'react';
import type { Inspection, OrderOut, ReceiptOut } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';
import { Picture } from '../parts/Picture.tsx';
import { Go, Tile } from '../parts/Tiles.tsx';
import { whyOf } from '../parts/why.ts';
import { type Boat, boatOf, inspectionOf } from './boat.ts';
import { Frame } from './Frame.tsx';
import { unitOf } from './judge.ts';
import { useNames } from './names.ts';
import { askedFor, byShortCode, orderFrom, shortCode, writeOrder, writeOver } from './order.ts';
import { go } from './route.ts';
import { Scan } from './Scan.tsx';
import { beginWash, reopen } from './sealing.ts';
import { useKeys } from './signing.ts';
import { call, isoLocal, useAnswer, useRamp } from './state.tsx';
import { lastWash } from './washing.ts';

/** A signed note as a code to be read by another phone, and in letters for one whose camera does not work. */
function CodeToRead({ write, about }: { write: () => Promise<ReceiptOut>; about: readonly unknown[] }) {
  const say = useSay();
  const { value, error } = useAnswer(write, about);
  if (error) return <p className="trouble">{error}</p>;
  if (!value) return null;
  return (
    <>
      <Picture className="qr" picture={value.code} />
      <details>
        <summary>{say('order.text')}</summary>
        <p className="code-text num">{value.text}</p>
      </details>
    </>
  );
}

/** The order as a code for the technician's phone: no signal is needed, and nothing of the boater travels. */
export function OrderCode({ boat }: { boat: Boat }) {
  const say = useSay();
  const { washes, drop, site } = useRamp();
  const subject = boat.sealed?.subject ?? boat.id;
  const here = washes.find((w) => w.order.encounter === subject);
  const given = async () => {
    if (!here || (await drop(here.id))) go('boat', boat.id);
  };
  return (
    <Frame
      at="ordercode"
      acts={
        <Go onClick={given} sub={here ? say('order.givenSub') : undefined}>
          {say(here ? 'order.given' : 'walk.back')}
        </Go>
      }
    >
      <h1>{say('order.title')}</h1>
      <p>{say('order.show')}</p>
      <CodeToRead
        write={() => writeOrder(call, say, subject, inspectionOf(boat, site()), isoLocal(new Date()))}
        about={[boat]}
      />
      <p>{say('order.letters')}</p>
      <p className="big-num">{shortCode(subject)}</p>
    </Frame>
  );
}

/** After a wash of a boat that another phone has: what that phone must know before it looks at the boat again. */
export function WashOver({ encounter }: { encounter: string }) {
  const say = useSay();
  const done = lastWash(encounter);
  const order = useAnswer(() => askedFor(encounter), [encounter]).value;
  const clears = useAnswer(() => done && call('washClears', done), [done?.endedAt]).value?.clears;
  return (
    <Frame at="over" acts={<Go onClick={() => go('home')}>{say('incident.back')}</Go>}>
      <h1>{say('wash.over')}</h1>
      {clears === false ? <p className="trouble">{say('wash.short')}</p> : null}
      <p>{say('wash.overShow')}</p>
      {done && order && clears !== undefined ? (
        <CodeToRead
          write={() => writeOver(call, say, done, order, clears, isoLocal(new Date()))}
          about={[done.endedAt, order, clears]}
        />
      ) : null}
    </Frame>
  );
}

/** Reads the end of a wash from the phone that did it, and opens the boat for its second look. Only what a phone of the programme has signed
 * counts, and only by the order that this boat is owed. */
export function TakeOver({ boat }: { boat: Boat }) {
  const say = useSay();
  const ramp = useRamp();
  const [wrong, setWrong] = useState('');
  useKeys();
  const note = ramp.dones.find((d) => d.boat.id === boat.id);
  const take = async (text: string) => {
    if (!note || !boat.sealed) return;
    try {
      const over = await call('over.read', {
        text,
        now: isoLocal(new Date()),
        encounter: boat.sealed.subject,
        inspection: inspectionOf(boat, ramp.site()),
        since: isoLocal(new Date(boat.sealed.at)),
      });
      if (over.state !== 'good' || !over.endedAt)
        return setWrong(say('over.notTaken', { why: say(`note.state.${over.state as NoteState}`) }));
      const again = { startedAt: isoLocal(new Date()), ...(over.clears ? { washedAt: over.endedAt } : {}) };
      if (await reopen(ramp, note, say('done.washedWhy'), again)) go('boat', boat.id, 'walk');
    } catch (e) {
      setWrong(say('order.notRead', { why: whyOf(say, e) }));
    }
  };
  return (
    <Frame at="takeover" acts={<Go onClick={() => go('boat', boat.id)}>{say('walk.back')}</Go>}>
      <h1>{say('done.readWash')}</h1>
      <p>{say('order.takeOver')}</p>
      <Wrong words={wrong} />
      <Scan label={say('order.text')} onText={take} />
    </Frame>
  );
}

/** What a note may come to, besides good. */
type NoteState =
  | 'good'
  | 'altered'
  | 'unknown_issuer'
  | 'revoked'
  | 'not_yet'
  | 'not_a_receipt'
  | 'other_version'
  | 'other_boat'
  | 'other_order'
  | 'too_early';

/** An order that nobody vouches for may still be washed by: it is the word back that clears, and that is held against the order given. */
const MAY_WASH = ['unknown_issuer', 'not_yet'] as const;
type MayWash = (typeof MAY_WASH)[number];

function Wrong({ words }: { words: string }) {
  return (
    <p className={words ? 'trouble' : 'hidden-words'} role="alert">
      {words}
    </p>
  );
}

/** Taking an order over: from the other phone's code, or by its four letters where this phone has the boat. */
export function TakeOrder() {
  const say = useSay();
  const ramp = useRamp();
  const names = useNames();
  const [wrong, setWrong] = useState('');
  const [unproven, setUnproven] = useState<OrderOut>();
  useKeys();
  const open = ramp.dones.filter((d) => boatOf(d.boat).sealed?.verdict?.outcome === 'wash');
  const start = async (encounter: string, inspection: Inspection, sum?: string) => {
    const started = ramp.washes.find((w) => w.order.encounter === encounter);
    if (started) return go('wash', started.id);
    const unit = unitOf(ramp.kit?.body);
    const order = await orderFrom(call, say, encounter, inspection, ramp.books, unit, ramp.weather);
    await beginWash(ramp, { ...order, ...(sum ? { sum } : {}) });
  };
  const take = async (text: string) => {
    setWrong('');
    try {
      if (text.trim().length === 4) {
        const here = byShortCode(text, ramp.dones);
        if (!here) return setWrong(say('order.notRead', { why: say('order.unknownLetters') }));
        const boat = boatOf(here);
        return await start(boat.sealed?.subject ?? boat.id, inspectionOf(boat, ramp.site()));
      }
      const waters = ramp.books.waters.map((w) => w.subject);
      const read = await call('order.read', { text, now: isoLocal(new Date()), waters });
      const state = read.state as NoteState;
      if (state === 'good' && read.inspection) return await start(read.encounter ?? '', read.inspection, read.sum);
      if (read.inspection && MAY_WASH.some((s) => s === state)) return setUnproven(read);
      setWrong(say('order.notRead', { why: say(`note.state.${state}`) }));
    } catch (e) {
      setWrong(say('order.notRead', { why: whyOf(say, e) }));
    }
  };
  if (unproven?.inspection) {
    const { encounter = '', inspection, sum, state } = unproven;
    return (
      <Frame
        at="unproven"
        acts={
          <>
            <Tile icon="code" onClick={() => setUnproven(undefined)}>
              {say('order.another')}
            </Tile>
            <Go icon="spray" onClick={() => start(encounter, inspection, sum).catch((e) => setWrong(whyOf(say, e)))}>
              {say('order.washAnyway')}
            </Go>
          </>
        }
      >
        <h1>{say('order.unproven')}</h1>
        <p className="trouble">{say(`order.unproven.${state as MayWash}`)}</p>
        <p>{say('order.unprovenWhat')}</p>
        <Wrong words={wrong} />
      </Frame>
    );
  }
  return (
    <Frame at="take">
      <h1>{say('home.wash')}</h1>
      <p>{say('order.take')}</p>
      <Wrong words={wrong} />
      {open.map((d) => (
        <Tile
          key={d.id}
          icon="spray"
          sub={shortCode(boatOf(d.boat).sealed?.subject ?? d.boat.id)}
          onClick={() => take(shortCode(boatOf(d.boat).sealed?.subject ?? d.boat.id))}
        >
          {names.craft(boatOf(d.boat).setup?.class)}
        </Tile>
      ))}
      <Scan label={say('order.code')} onText={take} />
    </Frame>
  );
}
