import type { Schemas } from '../shared/api.ts';
import { say } from './words.ts';

type Figure = Schemas['Figure'];

export const share = (f: Figure) => f.unit === '' || f.unit === 'share' || f.unit === '1';

function number(v: number, f: Figure): string {
  if (share(f)) return `${(v * 100).toFixed(1)} %`;
  return v.toLocaleString('en', { maximumFractionDigits: Math.abs(v) < 10 ? 2 : Math.abs(v) < 100 ? 1 : 0 });
}

/** A figure of the season in words: its value with its unit, or that it is not known. */
export function value(f: Figure): string {
  if (!f.known) return say('boat.unknown');
  return share(f) || f.unit === 'count' ? number(f.value, f) : `${number(f.value, f)} ${f.unit}`;
}

export function limits(f: Figure): string {
  return f.known && f.interval ? `${number(f.interval.lo, f)} – ${number(f.interval.hi, f)}` : '';
}

/** The page of the records behind a figure; nothing where the server names none. */
export function behindPage(f: Figure): string | undefined {
  const query = f.records?.split('?')[1];
  return query && `/season/records?${query}`;
}

/** Figures of craft that the ledger has a filter for. */
const ledgerFilter: Record<string, Record<string, string>> = {
  found: { found: 'yes', refused: 'no' },
  refused: { refused: 'yes' },
  ...Object.fromEntries(
    ['launch', 'fix_here', 'wash', 'dry', 'hold'].map((outcome) => [`outcome_${outcome}`, { outcome }]),
  ),
};

/** The ledger filtered to the craft of a figure of the whole season or of one launch; nothing where it has no such filter. */
export function ledgerOf(
  season: Schemas['Season'],
  figure: string,
  by: string | undefined,
  key: string | undefined,
): string | undefined {
  const filter = ledgerFilter[figure];
  if (!filter || season.query.partner || (by && by !== 'launch')) return undefined;
  const launch = by ? key : season.query.launch;
  return `/ledger?${new URLSearchParams({ from: season.from, to: season.to, ...(launch && { launch }), ...filter })}`;
}

/** One figure of a season, or of a row of one of its tables, with the name of that row. */
export function behind(
  season: Schemas['Season'],
  figure: string,
  by: string | undefined,
  key: string | undefined,
): (Figure & { row?: string }) | undefined {
  if (!by) return season.figures.find((f) => f.id === figure);
  const row = season.tables.find((t) => t.by === by)?.rows.find((r) => r.key === (key ?? ''));
  const found = row?.figures.find((f) => f.id === figure);
  return found && { ...found, row: row?.name || row?.key || say('boat.unknown') };
}
