import type { Word } from './words.ts';

/** The pages in the order of a manager's day: what needs her, the records, the region, the rules. */
export const places: { path: string; word: Word; key?: string; after?: 'gap' }[] = [
  { path: '/', key: 'm', word: 'nav.morning' },
  { path: '/settle', key: 's', word: 'nav.settle' },
  { path: '/incidents', key: 'i', word: 'nav.incidents' },
  { path: '/ledger', key: 'l', word: 'nav.ledger', after: 'gap' },
  { path: '/map', key: 'a', word: 'nav.map' },
  { path: '/traffic', key: 't', word: 'nav.traffic' },
  { path: '/waters', key: 'w', word: 'nav.waters' },
  { path: '/launches', key: 'u', word: 'nav.launches' },
  { path: '/kit', key: 'k', word: 'nav.kit' },
  { path: '/people', key: 'p', word: 'nav.people' },
  { path: '/phones', key: 'h', word: 'nav.phones' },
  { path: '/plan', key: 'n', word: 'nav.plan', after: 'gap' },
  { path: '/roster', key: 'o', word: 'nav.roster' },
  { path: '/queue', word: 'nav.queue' },
  { path: '/spread', word: 'nav.spread' },
  { path: '/rules', key: 'r', word: 'nav.rules' },
  { path: '/practice', word: 'nav.practice' },
  { path: '/season', key: 'b', word: 'nav.season', after: 'gap' },
];
