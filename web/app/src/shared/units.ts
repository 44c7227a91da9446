import { number } from '../messages/format.ts';

/** The programme's household setting: what people read and type. Records are in SI. */
export type Units = 'metric' | 'us';

const L_PER_GAL = 3.785411784; // US gallon, exact (NIST SP 811, appendix B)
const M_PER_FT = 0.3048; // exact (the same)
const BAR_PER_PSI = 0.0689475729316836; // 0.45359237 × 9.80665 / 0.0254² Pa (the same); unit.BarPerPSI of the engine

/** A number and its unit are never on two lines. */
const NBSP = '\u00a0';

export const toF = (c: number) => (c * 9) / 5 + 32;
export const toC = (f: number) => ((f - 32) * 5) / 9;

export interface Amounts {
  temp(c: number, places?: number): string;
  volume(l: number): string;
  length(m: number): string;
  pressure(bar: number): string;
  tempUnit: string;
  /** Reads a typed temperature into degrees Celsius. */
  readTemp(text: string): number | undefined;
  /** Writes degrees Celsius for a field. */
  writeTemp(c: number): string;
}

export function amounts(units: Units, locale: string): Amounts {
  const us = units === 'us';
  const n = (v: number, places: number) => number(locale, v, places);
  return {
    temp: (c, places = 0) =>
      us
        ? `${n(toF(c), places)}${NBSP}°F`
        : `${n(c, places || (Number.isInteger(Math.round(c * 10) / 10) ? 0 : 1))}${NBSP}°C`,
    volume: (l) => (us ? `${n(l / L_PER_GAL, l < 40 ? 1 : 0)}${NBSP}gal` : `${n(l, l < 10 ? 1 : 0)}${NBSP}L`),
    length: (m) => (us ? `${n(m / M_PER_FT, 0)}${NBSP}ft` : `${n(m, 1)}${NBSP}m`),
    pressure: (bar) => (us ? `${n(bar / BAR_PER_PSI, 0)}${NBSP}psi` : `${n(bar, 1)}${NBSP}bar`),
    tempUnit: us ? '°F' : '°C',
    readTemp: (text) => {
      const v = Number(text.trim().replace(',', '.'));
      if (text.trim() === '' || !Number.isFinite(v)) return undefined;
      return us ? toC(v) : v;
    },
    writeTemp: (c) => String(Math.round((us ? toF(c) : c) * 10) / 10),
  };
}

/** Hours and minutes of a wall clock, as the language writes them. */
export function clockTime(locale: string, at: Date, zone?: string): string {
  return new Intl.DateTimeFormat(locale, {
    hour: 'numeric',
    minute: '2-digit',
    ...(zone ? { timeZone: zone } : {}),
  }).format(at);
}

/** Day of the week, day and time: a dry time is never given without its day. */
export function dayTime(locale: string, at: Date, zone?: string): string {
  const form = { weekday: 'long', day: 'numeric', month: 'long', hour: 'numeric', minute: '2-digit' } as const;
  return new Intl.DateTimeFormat(locale, { ...form, ...(zone ? { timeZone: zone } : {}) }).format(at);
}

/** The one time that a receipt shows: day, year, time and the zone it is told in, since whoever reads it may be in another. */
export function receiptTime(locale: string, at: Date, zone?: string): string {
  const form = {
    weekday: 'long',
    day: 'numeric',
    month: 'long',
    year: 'numeric',
    hour: 'numeric',
    minute: '2-digit',
    timeZoneName: 'short',
  } as const;
  return new Intl.DateTimeFormat(locale, { ...form, ...(zone ? { timeZone: zone } : {}) }).format(at);
}

export function day(locale: string, at: Date): string {
  return new Intl.DateTimeFormat(locale, { weekday: 'short', day: 'numeric', month: 'short' }).format(at);
}

/** Minutes and seconds of a timer. */
export function minSec(seconds: number): string {
  const s = Math.max(0, Math.round(seconds));
  return `${Math.floor(s / 60)}:${String(s % 60).padStart(2, '0')}`;
}
