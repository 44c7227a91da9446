import type { Choice } from '../parts/Field.tsx';
import { useRamp } from './state.tsx';

/** The words that people know things by; an id stands for itself where this phone has no word for it. */
export function useNames() {
  const { library, people, books } = useRamp();
  const of = (list: readonly { subject: string; body: { name: string } }[], id: string) =>
    list.find((x) => x.subject === id)?.body.name;
  return {
    craft: (id: string | undefined) => library?.classes.find((c) => c.id === id)?.name ?? id ?? '',
    /** The word on the plate of an outcome. */
    outcome: (id: string) => library?.outcomes.find((o) => o.id === id)?.plate ?? id,
    person: (id: string) => of(people, id) ?? id,
    unit: (id: string) => of(books.units, id) ?? id,
    water: (id: string | undefined) => (id ? of(books.waters, id) : undefined),
  };
}

/** Records of a kind as a list to choose from. */
export function choicesOf(list: readonly { subject: string; body: { name: string } }[]): Choice[] {
  return list.map((x) => ({ id: x.subject, name: x.body.name }));
}
