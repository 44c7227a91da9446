import type { DryLine } from '../engine/types.ts';
import { localeOf, useLanguage, useSay } from '../messages/index.tsx';
import { DryPicture } from '../parts/DryLine.tsx';
import { Go, Tile, Tiles } from '../parts/Tiles.tsx';
import { dayTime } from '../shared/units.ts';
import type { Boat } from './boat.ts';
import { Frame } from './Frame.tsx';
import { go } from './route.ts';
import { call, useAnswer, useRamp } from './state.tsx';

/** When a craft has dried long enough: the event it counts from, the rule that decides, and the weather it rests on. */
export function DryClock({ boat }: { boat: Boat }) {
  const say = useSay();
  const locale = localeOf(useLanguage());
  const ramp = useRamp();
  const zone = ramp.launch?.body.zone;
  const { value: hold, error } = useAnswer(async () => call('dry', await ramp.caseFor(boat)), [boat, ramp.weather]);
  const earliest = hold?.earliest ? new Date(hold.earliest) : undefined;
  const now = new Date();
  const over = earliest !== undefined && earliest <= now;
  const binding = (hold?.lines ?? []).filter((l) => l.binding);
  const rest = (hold?.lines ?? []).filter((l) => !l.binding);
  return (
    <Frame
      at="dry"
      acts={
        <>
          <Tiles>
            <Tile icon="person" onClick={() => go('boat', boat.id, 'card')}>
              {say('verdict.card')}
            </Tile>
          </Tiles>
          <Go onClick={() => go('boat', boat.id)}>{say('walk.back')}</Go>
        </>
      }
    >
      <h1>{say('dry.title')}</h1>
      {error ? <p className="trouble">{error}</p> : null}
      {hold ? (
        <>
          <p className="big-answer">
            {earliest
              ? over
                ? say('dry.over', { at: dayTime(locale, earliest, zone) })
                : dayTime(locale, earliest, zone)
              : say('dry.never')}
          </p>
          <p>{hold.decides}</p>
          <DryPicture lines={hold.lines} now={now} locale={locale} label={say('dry.picture')} />
          <p>{say('dry.weather', { weather: hold.weather })}</p>
          <h2>{say('dry.rules')}</h2>
          <Lines lines={binding} locale={locale} zone={zone} />
          {rest.length ? (
            <details>
              <summary>{say('dry.others', { n: rest.length })}</summary>
              <Lines lines={rest} locale={locale} zone={zone} />
            </details>
          ) : null}
          {(hold.notes ?? []).map((n) => (
            <p key={n}>{n}</p>
          ))}
        </>
      ) : null}
    </Frame>
  );
}

function Lines({ lines, locale, zone }: { lines: readonly DryLine[]; locale: string; zone: string | undefined }) {
  const say = useSay();
  return (
    <ul className="rows">
      {lines.map((l) => (
        <li key={`${l.rule}${l.organism ?? ''}${l.stage ?? ''}`}>
          <span className="row-name">{l.title}</span>
          <span className="row-say">
            {say(`dry.state.${l.state as 'met'}`)}
            {l.start
              ? ` · ${say('dry.from', { event: say(`dry.event.${l.from as 'cleaned'}`), at: dayTime(locale, new Date(l.start), zone) })}`
              : ` · ${say('dry.notStarted', { event: say(`dry.event.${l.from as 'cleaned'}`) })}`}
            {l.earliest ? ` · ${say('dry.ends', { at: dayTime(locale, new Date(l.earliest), zone) })}` : ''}
          </span>
          {l.note ? <span className="row-say">{l.note}</span> : null}
          {l.source ? <span className="row-say">{l.source}</span> : null}
        </li>
      ))}
    </ul>
  );
}
