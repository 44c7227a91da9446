import type { Boat } from './boat.ts';

/** How a boat stands once it is judged: by the outcome on its plate, or refused, which no outcome takes back. */
export type Standing = 'launch' | 'fix_here' | 'wash' | 'dry' | 'hold' | 'refused';

/** What may be done with a boat besides the act that its plate asks for. */
export type Offer =
  | 'card' // turn the screen to the boater
  | 'receipt' // says what was looked at
  | 'dry' // when it has dried long enough
  | 'order' // hand the wash to another phone
  | 'over' // read the end of the wash from it
  | 'again' // look at it again, from the start
  | 'override' // decide otherwise, before it is on record
  | 'change' // take the record back, or correct it
  | 'incident';

const always = ['card', 'change', 'incident'] as const;

/**
 * What each standing leaves to be done. Only a boat that is owed a wash or a dry hold waits for a day: what is held waits for whoever is
 * called, and what is refused was not looked at, so it gets no receipt of a look and no second one.
 */
const offered: Readonly<Record<Standing, readonly Offer[]>> = {
  launch: [...always, 'receipt', 'override'],
  fix_here: [...always, 'receipt', 'again', 'override'],
  wash: [...always, 'receipt', 'dry', 'order', 'over', 'again', 'override'],
  dry: [...always, 'receipt', 'dry', 'again', 'override'],
  hold: [...always, 'receipt', 'override'],
  refused: always,
};

/** Whether an address under a boat opens one of its offers. */
export const isOffer = (sheet: string): sheet is Offer =>
  Object.values(offered).some((o) => o.some((x) => x === sheet));

const known = (outcome: string | undefined): outcome is Standing => outcome !== undefined && outcome in offered;

/** How a boat stands by an outcome; one that nobody knows is a hold. */
export function standingOf(boat: Pick<Boat, 'refused'>, outcome: string | undefined): Standing {
  if (boat.refused !== undefined) return 'refused';
  return known(outcome) ? outcome : 'hold';
}

export const may = (standing: Standing, offer: Offer): boolean => offered[standing].includes(offer);

/** How a boat on record stands. */
export const standingOnRecord = (boat: Boat): Standing =>
  standingOf(boat, boat.override?.outcome ?? boat.sealed?.verdict?.outcome);
