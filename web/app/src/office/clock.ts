/**
 * The programme's clock: whoever reads a page, wherever the browser stands, sees the times that people at the launches saw.
 * The zone is the programme's own and is set once, before the first page is drawn.
 */
let zone: string | undefined;
let day: Intl.DateTimeFormat;
let formats: Record<'long' | 'short', Intl.DateTimeFormat>;

/** Takes an IANA zone; one that the browser does not know, or none, leaves the browser's own. */
export function setZone(name: string | undefined) {
  zone = known(name) ? name : undefined;
  const common = {
    timeZone: zone,
    month: 'short',
    day: 'numeric',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  } as const;
  formats = {
    long: new Intl.DateTimeFormat('en', { ...common, weekday: 'short', year: 'numeric' }),
    short: new Intl.DateTimeFormat('en', { ...common, year: 'numeric' }),
  };
  day = new Intl.DateTimeFormat('en-CA', { timeZone: zone, year: 'numeric', month: '2-digit', day: '2-digit' });
}

function known(name: string | undefined): name is string {
  if (!name) return false;
  try {
    return Boolean(new Intl.DateTimeFormat('en', { timeZone: name }));
  } catch {
    return false;
  }
}

setZone(undefined);

/** The zone that times are shown in. */
export const zoneName = () => zone ?? Intl.DateTimeFormat().resolvedOptions().timeZone;

/** The zone as people call it, such as Mountain Time, or its hours from Greenwich where it has no such name. */
export function zoneWords(): string {
  const parts = new Intl.DateTimeFormat('en', { timeZone: zoneName(), timeZoneName: 'longGeneric' }).formatToParts(0);
  return parts.find((p) => p.type === 'timeZoneName')?.value ?? zoneName();
}

/** A moment in words, with its weekday unless it is to be short; nothing where none is given. */
export function moment(at: string | undefined, form: 'long' | 'short' = 'long'): string {
  return at ? formats[form].format(new Date(at)) : '';
}

/** The day of a moment, such as 2026-07-04. */
export const dayOf = (at: string | number): string => day.format(new Date(at));

/** A day such as 2026-07-04 in words, with its year. */
export const dateWords = (day: string): string =>
  new Date(`${day}T00:00:00Z`).toLocaleString('en', {
    day: 'numeric',
    month: 'short',
    year: 'numeric',
    timeZone: 'UTC',
  });

/** When a day of the programme begins, or one some days later; undefined where the text is no day. */
export function dayStart(text: string | undefined, plus = 0): string | undefined {
  const at = Date.parse(`${text}T00:00:00Z`);
  return Number.isNaN(at) ? undefined : fromWall(at + plus * 86_400_000);
}

/** The moment that the programme's clocks show as such a text, such as 2026-07-04T05:40. */
export function instant(text: string | undefined): string | undefined {
  const at = Date.parse(`${text}Z`);
  return Number.isNaN(at) ? undefined : fromWall(at);
}

/** What the programme's clocks show at a moment, as a box of date and time takes it. */
export const wall = (at: string): string =>
  new Date(Date.parse(at) + offset(Date.parse(at))).toISOString().slice(0, 16);

/** Finds the moment of a wall time. The first guess may lie on the other side of a change of clocks; the second does not. */
function fromWall(shown: number): string {
  const guess = shown - offset(shown);
  return new Date(shown - offset(guess)).toISOString();
}

/** By how much the programme's clocks run ahead of UTC at a moment, in milliseconds. */
function offset(at: number): number {
  const parts = new Intl.DateTimeFormat('en-US', {
    timeZone: zone,
    hourCycle: 'h23',
    year: 'numeric',
    month: 'numeric',
    day: 'numeric',
    hour: 'numeric',
    minute: 'numeric',
    second: 'numeric',
  }).formatToParts(at);
  const of = (type: string) => Number(parts.find((p) => p.type === type)?.value);
  const shown = Date.UTC(of('year'), of('month') - 1, of('day'), of('hour'), of('minute'), of('second'));
  return shown - Math.floor(at / 1000) * 1000;
}
