/**
 * Messages in the ICU form, the part of it that screens need: `{name}`, `{n, number}`, `{n, plural, =0 {…} one {…} other {…}}` and
 * `{word, select, a {…} other {…}}`, with `#` for the number inside a plural. Parsed once and kept.
 */
export type Values = Record<string, string | number>;

type Part =
  | string
  | { kind: 'value'; name: string }
  | { kind: 'number'; name: string }
  | { kind: 'hash' }
  | { kind: 'choice'; name: string; plural: boolean; cases: Map<string, Part[]> };

const parsed = new Map<string, Part[]>();

/** Parses a message; a fault in its braces is an error that quotes it. */
export function parse(text: string): Part[] {
  let known = parsed.get(text);
  if (!known) {
    const reader = { text, at: 0 };
    known = parts(reader, false);
    if (reader.at < text.length) throw new Error(`one brace too many in the message: ${text}`);
    parsed.set(text, known);
  }
  return known;
}

function parts(r: { text: string; at: number }, inPlural: boolean): Part[] {
  const out: Part[] = [];
  let plain = '';
  const flush = () => {
    if (plain) out.push(plain);
    plain = '';
  };
  while (r.at < r.text.length && r.text[r.at] !== '}') {
    const c = r.text[r.at] as string;
    r.at++;
    if (c === '{') {
      flush();
      out.push(argument(r));
    } else if (c === '#' && inPlural) {
      flush();
      out.push({ kind: 'hash' });
    } else plain += c;
  }
  flush();
  return out;
}

function argument(r: { text: string; at: number }): Part {
  const head = /^\s*([a-zA-Z]\w*)\s*(?:,\s*(number|plural|select)\s*)?/.exec(r.text.slice(r.at));
  const name = head?.[1];
  if (!head || !name) throw new Error(`a brace without a name in the message: ${r.text}`);
  r.at += head[0].length;
  const kind = head[2];
  if (kind === 'plural' || kind === 'select') {
    const cases = new Map<string, Part[]>();
    for (;;) {
      const label = /^[\s,]*(=?[\w-]+)\s*\{/.exec(r.text.slice(r.at));
      if (!label?.[1]) break;
      r.at += label[0].length;
      cases.set(label[1], parts(r, kind === 'plural'));
      close(r);
    }
    if (!cases.has('other')) throw new Error(`no case "other" in the message: ${r.text}`);
    close(r);
    return { kind: 'choice', name, plural: kind === 'plural', cases };
  }
  close(r);
  return { kind: kind === 'number' ? 'number' : 'value', name };
}

function close(r: { text: string; at: number }) {
  while (r.text[r.at] === ' ' || r.text[r.at] === '\n') r.at++;
  if (r.text[r.at] !== '}') throw new Error(`a brace is not closed in the message: ${r.text}`);
  r.at++;
}

const rules = new Map<string, Intl.PluralRules>();
const numbers = new Map<string, Intl.NumberFormat>();

function cached<T>(map: Map<string, T>, key: string, make: () => T): T {
  let v = map.get(key);
  if (!v) {
    v = make();
    map.set(key, v);
  }
  return v;
}

/** Writes a number as the language writes it, with at most so many places after the point. */
export function number(locale: string, n: number, places = 1): string {
  return cached(
    numbers,
    `${locale} ${places}`,
    () => new Intl.NumberFormat(locale, { maximumFractionDigits: places }),
  ).format(n);
}

/**
 * Fills a message in; numbers get at most so many places after the point. A value that is missing is an error: a half sentence
 * is worse than none.
 */
export function format(locale: string, text: string, values: Values = {}, places = 1): string {
  return write({ locale, values, text, places }, parse(text), 0);
}

interface Filling {
  locale: string;
  values: Values;
  text: string;
  places: number;
}

function write(f: Filling, list: Part[], hash: number): string {
  const of = (name: string) => {
    const v = f.values[name];
    if (v === undefined) throw new Error(`the message needs a value for ${name}: ${f.text}`);
    return v;
  };
  const shown = (v: string | number) => (typeof v === 'number' ? number(f.locale, v, f.places) : v);
  return list
    .map((p) => {
      if (typeof p === 'string') return p;
      if (p.kind === 'hash') return shown(hash);
      const v = of(p.name);
      if (p.kind === 'value' || p.kind === 'number') return shown(v);
      if (!p.plural) return write(f, p.cases.get(String(v)) ?? p.cases.get('other') ?? [], hash);
      const n = Number(v);
      const rule = cached(rules, f.locale, () => new Intl.PluralRules(f.locale)).select(n);
      return write(f, p.cases.get(`=${n}`) ?? p.cases.get(rule) ?? p.cases.get('other') ?? [], n);
    })
    .join('');
}

/** The names a message asks for, sorted; for checking that translations ask for the same. */
export function names(text: string): string[] {
  const found = new Set<string>();
  const walk = (list: Part[]) => {
    for (const p of list) {
      if (typeof p === 'string' || p.kind === 'hash') continue;
      found.add(p.name);
      if (p.kind === 'choice') for (const c of p.cases.values()) walk(c);
    }
  };
  walk(parse(text));
  return [...found].sort();
}

const accents: Record<string, string> = {
  a: 'á',
  e: 'é',
  i: 'í',
  o: 'ó',
  u: 'ú',
  c: 'ç',
  n: 'ñ',
  s: 'š',
  y: 'ý',
  z: 'ž',
  A: 'Á',
  E: 'É',
  I: 'Í',
  O: 'Ó',
  U: 'Ú',
  C: 'Ç',
  N: 'Ñ',
  S: 'Š',
};

/** A false language for tests: every plain word accented, and each message four tenths longer. Braces are left alone. */
export function pseudo(text: string): string {
  let depth = 0;
  let out = '';
  let plain = 0;
  for (const c of text) {
    if (c === '{') depth++;
    if (c === '}') depth--;
    out += depth === 0 ? (accents[c] ?? c) : c;
    if (depth === 0) plain++;
  }
  return `${out}${plain > 3 ? ` ${'~'.repeat(Math.ceil(plain * 0.4))}` : ''}`;
}
