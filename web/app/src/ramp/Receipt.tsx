import { useEffect, useRef, useState } from 'react';
import type { Receipt, ReceiptOut } from '../engine/types.ts';
import { local } from '../local/index.ts';
import { localeOf, type Say, useLanguage, useSay } from '../messages/index.tsx';
import { Picture } from '../parts/Picture.tsx';
import { Go, Tile, Tiles } from '../parts/Tiles.tsx';
import { receiptTime } from '../shared/units.ts';
import type { Boat } from './boat.ts';
import { Frame } from './Frame.tsx';
import { useNames } from './names.ts';
import { go } from './route.ts';
import { ownKey } from './signing.ts';
import { call, isoLocal, useRamp } from './state.tsx';

/** Hours for which a pass says anything: a weekend between two lakes (an assumption; no source gives one). */
const VALID_H = 48;

/** A receipt as it is shown: its code, and the time that is in the code. */
type Issued = ReceiptOut & { readonly issuedAt: string };

/** Signs the facts of a boat with this phone's key and keeps the receipt; the same one again where it has one. */
async function issue(ramp: ReturnType<typeof useRamp>, say: Say, boat: Boat): Promise<Issued> {
  const sealed = boat.sealed;
  const key = await ownKey();
  if (!sealed || !key || !ramp.launch) throw new Error(say('sign.noKey'));
  const old = local
    .records<Receipt>('receipt')
    .filter((r) => r.entry.body.encounter === sealed.subject)
    .find((r) => Date.parse(r.entry.body.issuedAt) >= sealed.at - 60_000);
  if (old) {
    const { code, issuedAt } = old.entry.body;
    return { text: code, code: await call('qr', { text: code }), issuedAt };
  }
  const id = local.newId();
  const outcome = boat.override?.outcome ?? sealed.verdict?.outcome ?? 'hold';
  const issuedAt = isoLocal(new Date());
  const { facts, bytes } = await call('receipt.toSign', {
    receipt: id,
    what: boat.washedAt ? 'washed' : 'inspected',
    outcome,
    issuedAt,
    // Only a pass is good for any time; every other receipt says what was, and no more.
    validH: outcome === 'launch' ? VALID_H : 0,
    public: key.publicKey,
    launch: ramp.launch.subject,
    protocol: ramp.rule.ref,
  });
  const out = await call('receipt.seal', { facts, signature: await key.sign(bytes), public: key.publicKey });
  const body: Receipt = {
    encounter: sealed.subject,
    issuedAt,
    device: ramp.status.enrolment?.device ?? '',
    keyId: facts.keyId,
    code: out.text,
    outcome,
    ...(facts.validH > 0 ? { expiresAt: isoLocal(new Date(Date.parse(issuedAt) + facts.validH * 3_600_000)) } : {}),
  };
  await local.seal('receipt', body, { id });
  return { ...out, issuedAt };
}

/** The receipt as the boater takes it along: a code that any enrolled phone reads without a network. */
export function ReceiptScreen({ boat }: { boat: Boat }) {
  const say = useSay();
  const locale = localeOf(useLanguage());
  const ramp = useRamp();
  const names = useNames();
  const [out, setOut] = useState<Issued>();
  const asked = useRef('');
  useEffect(() => {
    const key = boat.sealed?.entry ?? '';
    if (!key || asked.current === key) return;
    asked.current = key;
    void ramp.saving(async () => setOut(await issue(ramp, say, boat)));
  }, [boat, ramp, say]);
  const outcome = boat.override?.outcome ?? boat.sealed?.verdict?.outcome ?? 'hold';
  return (
    <Frame
      at="receipt"
      acts={
        <>
          <Tiles>
            <Tile icon="person" onClick={() => go('boat', boat.id, 'card')}>
              {say('verdict.card')}
            </Tile>
            <Tile icon="list" onClick={() => go('boat', boat.id)}>
              {say('receipt.boat')}
            </Tile>
          </Tiles>
          <Go onClick={() => go('craft')}>{say('home.next')}</Go>
        </>
      }
    >
      <h1>{say('boater.receipt')}</h1>
      {out ? (
        <>
          <Picture className="qr" picture={out.code} />
          <p>
            <strong>{names.outcome(outcome)}</strong> · {ramp.launch?.body.name} ·{' '}
            {receiptTime(locale, new Date(out.issuedAt), ramp.launch?.body.zone)}
          </p>
          <p>{say('boater.keep')}</p>
          <p>{say('boater.promise')}</p>
          <details>
            <summary>{say('boater.code')}</summary>
            <p className="code-text num">{out.text}</p>
          </details>
        </>
      ) : (
        <p role="status">{say('receipt.making')}</p>
      )}
    </Frame>
  );
}
