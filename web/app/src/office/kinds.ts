import type { Named } from './data.ts';
import type { Field } from './parts/Input.tsx';
import { plain } from './records.ts';
import { say } from './words.ts';

const words = (...values: string[]) => values.map((value) => ({ value, word: plain(value) }));
const yesNo = words('yes', 'no');
export const statuses = ['not_found', 'eradicated', 'not_looked', 'suspect', 'positive', 'infested'] as const;
const roles = words('owner', 'volunteer', 'steward', 'technician', 'manager', 'officer', 'agency');

export function waterFields(): Field[] {
  return [
    { path: 'name', word: say('field.name'), kind: 'text', required: true },
    { path: 'also', word: say('field.also'), kind: 'lines', hint: say('field.alsoHint') },
    { path: 'centre.0', word: say('field.lon'), unit: '°', kind: 'number', required: true },
    { path: 'centre.1', word: say('field.lat'), unit: '°', kind: 'number', required: true },
    { path: 'areaHa', word: say('field.area'), unit: 'ha', kind: 'number' },
    { path: 'maxTempC', word: say('field.maxTemp'), unit: '°C', kind: 'number' },
    {
      path: 'others',
      word: say('field.others'),
      kind: 'choice',
      options: words(...statuses),
      hint: say('field.othersHint'),
    },
    { path: 'outside', word: say('field.outside'), kind: 'tick' },
  ];
}

export function launchFields(waters: Named[]): Field[] {
  return [
    { path: 'name', word: say('field.name'), kind: 'text', required: true },
    {
      path: 'water',
      word: say('field.water'),
      kind: 'choice',
      required: true,
      options: waters.map((w) => ({ value: w.id, word: w.name })),
    },
    { path: 'at.0', word: say('field.lon'), unit: '°', kind: 'number', required: true },
    { path: 'at.1', word: say('field.lat'), unit: '°', kind: 'number', required: true },
    { path: 'lanes', word: say('field.lanes'), kind: 'number', required: true },
    { path: 'opens', word: say('field.opens'), kind: 'text', hint: say('field.opensHint') },
    { path: 'closes', word: say('field.closes'), kind: 'text' },
    { path: 'zone', word: say('field.zone'), kind: 'text', hint: say('field.zoneHint') },
    { path: 'partner', word: say('field.partner'), kind: 'text' },
    { path: 'power', word: say('field.power'), kind: 'choice', options: yesNo },
    { path: 'signal', word: say('field.signal'), kind: 'choice', options: yesNo },
    { path: 'busy', word: say('field.busy'), kind: 'number' },
  ];
}

export function unitFields(launches: Named[]): Field[] {
  return [
    { path: 'name', word: say('field.name'), kind: 'text', required: true },
    {
      path: 'launch',
      word: say('field.stands'),
      kind: 'choice',
      options: launches.map((l) => ({ value: l.id, word: l.name })),
    },
    { path: 'unit.burnerKW', word: say('field.burner'), unit: 'kW', kind: 'number' },
    { path: 'unit.efficiency', word: say('field.efficiency'), kind: 'number', hint: say('field.efficiencyHint') },
    { path: 'unit.flowLPerMin', word: say('field.flow'), unit: 'L/min', kind: 'number' },
    { path: 'unit.tankL', word: say('field.tank'), unit: 'L', kind: 'number' },
    { path: 'unit.fuelL', word: say('field.fuel'), unit: 'L', kind: 'number' },
    { path: 'unit.gaugePlusMinusC', word: say('field.gauge'), unit: '± °C', kind: 'number' },
    { path: 'outOfService', word: say('field.out'), kind: 'tick' },
    { path: 'note', word: say('boat.note'), kind: 'long' },
  ];
}

export function personFields(): Field[] {
  return [
    { path: 'name', word: say('field.calledBy'), kind: 'text', required: true },
    { path: 'roles', word: say('field.roles'), kind: 'many', options: roles },
    { path: 'partner', word: say('field.partner'), kind: 'text' },
    { path: 'left', word: say('field.left'), kind: 'date' },
  ];
}

const directions = words('launching', 'leaving', 'roadside', 'other');

/** What is most often wrong in an inspection. The rest is corrected in the record as a whole. */
export function encounterFields(waters: Named[], launches: Named[], people: Named[]): Field[] {
  const named = (things: Named[]) => things.map((t) => ({ value: t.id, word: t.name }));
  const at = (path: string) => `inspection.${path}`;
  return [
    { path: at('launch'), word: say('ledger.launch'), kind: 'choice', options: named(launches) },
    { path: at('steward'), word: say('boat.steward'), kind: 'choice', options: named(people) },
    { path: at('setup.class'), word: say('boat.class'), kind: 'text', required: true, hint: say('field.classHint') },
    { path: at('setup.lengthM'), word: say('boat.length'), unit: 'm', kind: 'number' },
    { path: at('direction'), word: say('boat.direction'), kind: 'choice', options: directions },
    { path: at('lastWaters.0.water'), word: say('ledger.from'), kind: 'choice', options: named(waters) },
    { path: at('nextWater'), word: say('boat.next'), kind: 'choice', options: named(waters) },
    { path: at('plugsOut'), word: say('boat.plugs'), kind: 'choice', options: yesNo },
    { path: at('driveLowered'), word: say('boat.drive'), kind: 'choice', options: yesNo },
    { path: at('refused'), word: say('ledger.refused'), kind: 'tick' },
    { path: at('note'), word: say('boat.note'), kind: 'long' },
  ];
}
