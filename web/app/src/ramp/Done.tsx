import { useState } from 'react';
import type { WashDone } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { type Key, localeOf, useLanguage, useSay } from '../messages/index.tsx';
import { Plate, plateKind } from '../parts/Plate.tsx';
import { Go, Link, Tile, Tiles } from '../parts/Tiles.tsx';
import { clockTime } from '../shared/units.ts';
import { type Boat, boatOf } from './boat.ts';
import { Frame } from './Frame.tsx';
import { useNames } from './names.ts';
import { may, standingOnRecord } from './offers.ts';
import { go } from './route.ts';
import { reopen, UNDO_MS } from './sealing.ts';
import { call, isoLocal, useRamp } from './state.tsx';
import { Why } from './Why.tsx';
import { lastWash } from './washing.ts';

/** A boat that is done: the plate it left with, where its record is, and what may still be done about it. */
export function DoneBoat({ boat }: { boat: Boat }) {
  const say = useSay();
  const ramp = useRamp();
  const names = useNames();
  const [correcting, setCorrecting] = useState(false);
  const note = ramp.dones.find((d) => d.boat.id === boat.id);
  const sealed = boat.sealed;
  if (!note || !sealed) return null;
  const standing = standingOnRecord(boat);
  const outcome = standing === 'refused' ? 'hold' : standing;
  const word = names.outcome(outcome);
  const onPlate =
    boat.refused !== undefined
      ? say('done.refused', { why: boat.refused })
      : boat.override
        ? say('verdict.decided', { why: boat.override.why })
        : sealed.verdict?.reasons[0]?.text;
  const record = local.record(sealed.entry);
  const wash = ramp.washes.find((w) => w.order.encounter === sealed.subject);
  const young = Date.now() - sealed.at < UNDO_MS;
  // A boat that is owed a wash is looked at again after one that this phone knows of.
  const washed = washedSince(sealed);
  const again = may(standing, 'again') && (standing !== 'wash' || washed !== undefined);
  const lookAgain = async () => {
    const clears = washed && (await call('washClears', washed)).clears;
    const look = { startedAt: isoLocal(new Date()), ...(washed && clears ? { washedAt: washed.endedAt } : {}) };
    const why = say(standing === 'wash' ? 'done.washedWhy' : standing === 'dry' ? 'done.driedWhy' : 'correct.again');
    if (await reopen(ramp, note, why, look)) go('boat', boat.id, 'walk');
  };
  if (correcting) return <Correct boat={boat} onBack={() => setCorrecting(false)} />;
  return (
    <Frame
      at="done"
      acts={
        <>
          <Tiles>
            {may(standing, 'receipt') ? (
              <Tile icon="code" onClick={() => go('boat', boat.id, 'receipt')}>
                {say('done.receipt')}
              </Tile>
            ) : null}
            <Tile icon="person" onClick={() => go('boat', boat.id, 'card')}>
              {say('verdict.card')}
            </Tile>
          </Tiles>
          {wash ? (
            <Go icon="spray" onClick={() => go('wash', wash.id)}>
              {say('done.wash')}
            </Go>
          ) : (
            <Go onClick={() => go('craft')}>{say('home.next')}</Go>
          )}
        </>
      }
    >
      <Plate kind={plateKind(outcome)} word={word}>
        <p className="plate-line">{onPlate}</p>
      </Plate>
      <p className="box">{say(`record.${record?.state ?? 'sent'}`)}</p>
      {boat.acts.filter((a) => a.do === 'sealed').length > 1 ? <p>{say('done.corrected')}</p> : null}
      <div>
        {may(standing, 'dry') ? (
          <Link icon="sun" onClick={() => go('boat', boat.id, 'dry')}>
            {say('verdict.dryClock')}
          </Link>
        ) : null}
        {may(standing, 'order') ? (
          <Link icon="spray" onClick={() => go('boat', boat.id, 'order')}>
            {say('done.handOver')}
          </Link>
        ) : null}
        {may(standing, 'over') ? (
          <Link icon="code" onClick={() => go('boat', boat.id, 'over')}>
            {say('done.readWash')}
          </Link>
        ) : null}
        {young ? (
          <Link
            icon="undo"
            onClick={async () => (await reopen(ramp, note, say('done.undoneWhy'))) && go('boat', boat.id)}
          >
            {say('done.undo', { min: Math.max(1, Math.ceil((UNDO_MS - (Date.now() - sealed.at)) / 60000)) })}
          </Link>
        ) : (
          <Link icon="undo" onClick={() => setCorrecting(true)}>
            {say('done.correct')}
          </Link>
        )}
        {again ? (
          <Link icon="look" onClick={lookAgain}>
            {say('done.lookAgain')}
          </Link>
        ) : null}
        <Link icon="call" onClick={() => go('incident', boat.id)}>
          {say('incident.raise')}
        </Link>
      </div>
    </Frame>
  );
}

/** The wash of a boat that ended after its verdict; times of records are whole seconds. */
function washedSince({ subject, at }: NonNullable<Boat['sealed']>): WashDone | undefined {
  const done = lastWash(subject);
  return done && Date.parse(done.endedAt) >= Math.floor(at / 1000) * 1000 ? done : undefined;
}

const whys: readonly Key[] = ['correct.tap', 'correct.learned', 'correct.again', 'correct.identified'];

/** After ten minutes a change is a correction: it needs a reason, and the first record stays readable. */
function Correct({ boat, onBack }: { boat: Boat; onBack: () => void }) {
  const say = useSay();
  const ramp = useRamp();
  const note = ramp.dones.find((d) => d.boat.id === boat.id);
  const pick = async (why: string) => {
    if (note && (await reopen(ramp, note, why))) go('boat', boat.id, 'walk');
  };
  return (
    <Why at="correct" title="correct.title" reasons={whys} across={1} save="correct.go" onPick={pick} onBack={onBack}>
      <p>{say('correct.stays')}</p>
    </Why>
  );
}

/** The boats of this phone, latest first. */
export function BoatsList() {
  const say = useSay();
  const locale = localeOf(useLanguage());
  const { dones } = useRamp();
  const names = useNames();
  const list = [...dones].sort((a, b) => Date.parse(b.boat.startedAt) - Date.parse(a.boat.startedAt));
  return (
    <Frame acts={<Go onClick={() => go('craft')}>{say('home.next')}</Go>}>
      <h1>{say('home.done', { n: list.length })}</h1>
      <ul className="rows">
        {list.map((d) => {
          const b = boatOf(d.boat);
          const outcome = b.override?.outcome ?? b.sealed?.verdict?.outcome ?? 'hold';
          const record = b.sealed && local.record(b.sealed.entry);
          return (
            <li key={d.id}>
              <Tile
                onClick={() => go('boat', d.boat.id)}
                sub={[
                  clockTime(locale, new Date(d.boat.startedAt)),
                  say(`record.short.${record?.state ?? 'sent'}`),
                ].join(' · ')}
              >
                {names.craft(b.setup?.class)} ·{' '}
                {b.refused === undefined ? names.outcome(outcome) : say('done.refusedShort')}
              </Tile>
            </li>
          );
        })}
      </ul>
    </Frame>
  );
}
