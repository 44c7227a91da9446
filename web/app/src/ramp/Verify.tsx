import { useState } from 'react';
import type { Reading } from '../engine/types.ts';
import { localeOf, useLanguage, useSay } from '../messages/index.tsx';
import { Go, Tile, Tiles } from '../parts/Tiles.tsx';
import { receiptTime } from '../shared/units.ts';
import { Frame } from './Frame.tsx';
import { useNames } from './names.ts';
import { go } from './route.ts';
import { Scan } from './Scan.tsx';
import { useKeys } from './signing.ts';
import { call, isoLocal, useRamp } from './state.tsx';

/** Reads a boater's receipt without a network. It adds context to a look; it never takes a stop away from it. */
export function Verify() {
  const say = useSay();
  const locale = localeOf(useLanguage());
  const ramp = useRamp();
  const names = useNames();
  useKeys();
  const [text, setText] = useState('');
  const [reading, setReading] = useState<Reading>();
  const [since, setSince] = useState<'' | 'yes' | 'no'>('');
  const read = async (code: string, waterSince: '' | 'yes' | 'no') => {
    setText(code);
    setSince(waterSince);
    const asked = {
      now: isoLocal(new Date()),
      waterSince,
      protocol: ramp.rule.ref,
      ...(ramp.launch ? { launch: ramp.launch.subject } : {}),
    };
    setReading(await call('receipt.read', { text: code, asked }));
  };
  if (!reading) {
    return (
      <Frame at="scan">
        <h1>{say('verify.title')}</h1>
        <p>{say('verify.why')}</p>
        <Scan label={say('verify.letters')} onText={(t) => read(t, '')} />
      </Frame>
    );
  }
  const f = reading.facts;
  return (
    <Frame
      at={`read-${since}`}
      acts={
        <>
          {reading.askWater && since === '' ? (
            <Tiles>
              <Tile icon="water" onClick={() => read(text, 'yes')}>
                {say('verify.beenIn')}
              </Tile>
              <Tile icon="sun" onClick={() => read(text, 'no')}>
                {say('verify.notIn')}
              </Tile>
            </Tiles>
          ) : (
            <Tile icon="code" onClick={() => setReading(undefined)}>
              {say('verify.another')}
            </Tile>
          )}
          <Go onClick={() => go('craft')} sub={say('verify.still')}>
            {say('home.next')}
          </Go>
        </>
      }
    >
      <h1>{say(`verify.state.${reading.state as 'good'}`)}</h1>
      <p className="box">{reading.why}</p>
      {reading.askWater && since === '' ? <h2>{say('verify.ask')}</h2> : null}
      {f ? (
        <dl className="facts">
          <dt>{say('verify.what')}</dt>
          <dd>{say(`verify.did.${f.what as 'inspected'}`)}</dd>
          <dt>{say('verify.outcome')}</dt>
          <dd>{names.outcome(f.outcome)}</dd>
          <dt>{say('verify.when')}</dt>
          <dd>{receiptTime(locale, new Date(f.issuedAt), ramp.launch?.body.zone)}</dd>
          {f.seal ? (
            <>
              <dt>{say('verify.seal')}</dt>
              <dd className="num">{f.seal}</dd>
            </>
          ) : null}
        </dl>
      ) : null}
      {reading.sameProtocol === 'no' ? <p>{say('verify.otherRules')}</p> : null}
      <p>
        <strong>{say('verify.never')}</strong>
      </p>
    </Frame>
  );
}
