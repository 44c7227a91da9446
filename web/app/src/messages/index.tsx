import { createContext, type ReactNode, useContext, useMemo } from 'react';
import { en } from './en.ts';
import { es } from './es.ts';
import { format, number, pseudo, type Values } from './format.ts';
import { fr } from './fr.ts';

export type Key = keyof typeof en;
/** Messages that boaters read are there in every language; a missing one does not compile. */
export type BoaterKey = Extract<Key, `boater.${string}`>;
export type Boater = Readonly<Record<BoaterKey, string>>;

/** Languages of the screens. The last two are false ones, for tests of room and direction. */
export const languages = ['en', 'es', 'fr', 'qps', 'qps-rtl'] as const;
export type Language = (typeof languages)[number];

const books: Record<Language, Partial<Record<Key, string>>> = { en, es, fr, qps: {}, 'qps-rtl': {} };

/** The number and date forms of a language. */
export const localeOf = (l: Language) => (l === 'qps' || l === 'qps-rtl' ? 'en' : l);
export const directionOf = (l: Language) => (l === 'qps-rtl' ? 'rtl' : 'ltr');

export type Say = (key: Key, values?: Values) => string;

/** Says a message in a language; English where the language has not got it yet. */
export function sayIn(language: Language): Say {
  const book = books[language];
  const locale = localeOf(language);
  return (key, values) => {
    const text = language === 'qps' || language === 'qps-rtl' ? pseudo(en[key]) : (book[key] ?? en[key]);
    return format(locale, text, values);
  };
}

const Speaking = createContext<Language>('en');

export function Speak({ language, children }: { language: Language; children: ReactNode }) {
  return <Speaking value={language}>{children}</Speaking>;
}

export function useSay(): Say {
  const language = useContext(Speaking);
  return useMemo(() => sayIn(language), [language]);
}

export function useLanguage(): Language {
  return useContext(Speaking);
}

export { number };
