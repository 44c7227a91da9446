import type { Field } from './parts/Input.tsx';
import { plain } from './records.ts';
import { say, type Word } from './words.ts';

const form = (name: string) => say(`rules.form.${name}` as Word);
const words = (...values: string[]) => values.map((value) => ({ value, word: plain(value) }));
const text = (path: string, name: string, more: Partial<Field> = {}): Field => ({
  path,
  word: form(name),
  kind: 'text',
  ...more,
});
const tick = (path: string, name: string): Field => ({ path, word: form(name), kind: 'tick', no: true });

/** The parts of an edition in the order in which they are decided, as a form asks for them. */
export function protocolSections(): { legend: string; fields: Field[] }[] {
  return [
    {
      legend: say('rules.own'),
      fields: [
        text('title', 'title', { required: true }),
        text('id', 'id', { required: true, hint: form('idHint') }),
        text('version', 'version', { required: true, hint: form('versionHint') }),
        text('textDate', 'textDate'),
        text('summary', 'summary', { kind: 'long' }),
        tick('confirmed', 'confirmed'),
        text('confirmedBy', 'confirmedBy'),
        text('confirmedOn', 'confirmedOn'),
      ],
    },
    {
      legend: form('standards'),
      fields: [
        text('requires', 'requires', { kind: 'many', options: words('clean', 'drained', 'dry') }),
        tick('criteria.deadMusselFails', 'deadMusselFails'),
        tick('criteria.deadMusselHolds', 'deadMusselHolds'),
        tick('criteria.anyPlantFails', 'anyPlantFails'),
        tick('criteria.mudFails', 'mudFails'),
        text('criteria.water', 'water', {
          kind: 'choice',
          required: true,
          options: words('none', 'film', 'limit'),
          hint: form('waterHint'),
        }),
        text('criteria.waterLimitMl', 'waterLimit', { kind: 'number', unit: 'mL' }),
        text('criteria.plug', 'plug', {
          kind: 'choice',
          required: true,
          options: words('out', 'may_refit', 'not_asked'),
        }),
        tick('criteria.clothMustDry', 'clothMustDry'),
        tick('criteria.strainerOut', 'strainerOut'),
      ],
    },
    {
      legend: form('risk'),
      fields: [
        text('lookBackDays', 'lookBack', {
          kind: 'number',
          unit: form('days').toLowerCase(),
          required: true,
          hint: form('lookBackHint'),
        }),
        text('afterRisk', 'afterRisk', {
          kind: 'choice',
          required: true,
          options: words('nothing', 'wash_or_dry', 'wash', 'dry', 'wash_and_dry'),
        }),
        tick('sameWaterExempt', 'sameWater'),
        tick('carryInExempt', 'carryIn'),
      ],
    },
    {
      legend: form('washing'),
      fields: [
        text('washTable', 'washTable', { hint: form('washTableHint') }),
        text('washOrder', 'washOrder', {
          kind: 'choice',
          required: true,
          options: words('inside_first', 'outside_first'),
        }),
        text('safetyFactor', 'factor', { kind: 'number', required: true, hint: form('factorHint') }),
        tick('alternative', 'alternative'),
      ],
    },
    {
      legend: form('drying'),
      fields: [text('dryTables', 'dryTables', { kind: 'lines', hint: form('oneALine') })],
    },
    {
      legend: form('seals'),
      fields: [
        text('sealTrust', 'sealTrust', { kind: 'lines', hint: form('oneALine') }),
        tick('sealReceipt', 'sealReceipt'),
        tick('release', 'release'),
        text('sources', 'sources', { kind: 'lines', hint: form('oneALine') }),
        text('notes', 'notes', { kind: 'lines', hint: form('oneALine') }),
      ],
    },
  ];
}

const sourced = () => [text('source', 'source', { required: true }), text('known', 'known', { required: true })];

/** The lists of lines of an edition. The server knows which words they may hold and says so beside the field. */
export function protocolRows(): Field[] {
  return [
    {
      path: 'wash',
      word: form('washRows'),
      kind: 'rows',
      of: () => [
        text('part', 'part', { required: true, vocabulary: true }),
        text('method', 'method', { required: true, vocabulary: true }),
        text('tempC', 'temp', { kind: 'number', unit: '°C', required: true }),
        text('contactS', 'contact', { kind: 'number', unit: 's', required: true }),
        text('measured', 'measured', { required: true, vocabulary: true }),
        text('maxInletC', 'maxInlet', { kind: 'number', unit: '°C' }),
        ...sourced(),
      ],
    },
    {
      path: 'dry',
      word: form('dryRows'),
      kind: 'rows',
      of: () => [
        text('profile', 'profile', { required: true, vocabulary: true }),
        text('applies', 'applies', { required: true, vocabulary: true }),
        text('days', 'days', { kind: 'number' }),
        text('from', 'clock', {
          kind: 'choice',
          required: true,
          options: words('out_of_water', 'cleaned', 'dry_to_touch', 'washed', 'sealed'),
        }),
        text('never', 'never', { kind: 'tick' }),
        text('notAccepted', 'notAccepted', { kind: 'tick' }),
        text('kind', 'kindOf', { required: true }),
        ...sourced(),
      ],
    },
    {
      path: 'always',
      word: form('always'),
      kind: 'rows',
      of: () => [
        text('when', 'when', { required: true, vocabulary: true }),
        text('outcome', 'outcome', {
          kind: 'choice',
          required: true,
          options: (['fix_here', 'wash', 'dry', 'hold'] as const).map((o) => ({ value: o, word: say(`outcome.${o}`) })),
        }),
        ...sourced(),
      ],
    },
    {
      path: 'powers',
      word: form('powers'),
      kind: 'rows',
      of: () => [
        text('act', 'act', { required: true, vocabulary: true }),
        text('who', 'who', {
          kind: 'many',
          options: words('owner', 'volunteer', 'steward', 'technician', 'manager', 'officer', 'agency'),
        }),
        ...sourced(),
      ],
    },
  ];
}

const months = Array.from({ length: 12 }, (_, i) => ({
  value: String(i + 1),
  word: new Intl.DateTimeFormat('en', { month: 'long', timeZone: 'UTC' }).format(Date.UTC(2000, i)),
}));
const note = () => text('note', 'note');

/** What a line of an edition may say beyond what its form asks; the JSON of the edition sets it. */
export function rowsBeyond(path: string): Field[] {
  switch (path) {
    case 'wash':
      return [
        text('risk', 'atRisk', { vocabulary: true }),
        text('printed', 'printed'),
        tick('untilExit', 'untilExit'),
        text('pressureMaxBar', 'pressureMax', { kind: 'number', unit: 'bar' }),
        note(),
      ];
    case 'dry':
      return [
        text('months', 'months', { kind: 'many', options: months }),
        text('freezingH', 'freezing', { kind: 'number', unit: 'h' }),
        text('usedIn', 'usedIn', { vocabulary: true }),
        note(),
      ];
    case 'always':
    case 'powers':
      return [note()];
    default:
      return [];
  }
}

/** What an edition may say beyond its form. */
export function protocolBeyond(): Field[] {
  return [
    {
      path: 'testedDrying',
      word: form('tested'),
      kind: 'rows',
      of: () => [
        { path: 'organism', word: say('waters.organism'), kind: 'text', vocabulary: true },
        text('stage', 'stage', { vocabulary: true }),
        text('hours', 'testedHours', { kind: 'number', unit: 'h' }),
        text('minTempC', 'minTemp', { kind: 'number', unit: '°C' }),
        text('maxRhPct', 'maxRh', { kind: 'number', unit: '%' }),
        text('margin', 'margin', { kind: 'number' }),
        ...sourced(),
      ],
    },
    {
      path: 'chemicals',
      word: form('chemicals'),
      kind: 'rows',
      of: () => [
        text('agent', 'agent'),
        text('strength', 'strength'),
        text('contactS', 'contact', { kind: 'number', unit: 's' }),
        text('for', 'useOn', { kind: 'many', vocabulary: true }),
        text('notFor', 'notFor'),
        ...sourced(),
      ],
    },
  ];
}
