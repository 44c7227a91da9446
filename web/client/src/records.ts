/** The records of the API by name and kind. Types only, so that a program with a client of its own can use them too. */
import type { components } from "./schema.d.ts";

/** The schemas of the API by name, such as Schemas["EncounterRow"]. */
export type Schemas = components["schemas"];

/** What an entry is about. */
export type Kind = Schemas["Entry"]["kind"];

/** An entry, a subject or a new record of one kind, such as Of<"Subject", "water">. */
export type Of<S extends "Entry" | "Kept" | "Subject" | "CreateInBody", K extends Kind> = Extract<Schemas[S], { kind: K }>;

/** What records say, by kind. */
export type Bodies = { [K in Kind]: Of<"CreateInBody", K>["body"] };

/** What a record of a kind says, such as BodyOf<"water">. */
export type BodyOf<K extends Kind> = Bodies[K];
