/** The server's API with the types of its OpenAPI document. It carries requests and knows no rule of the trade. */
import createFetchClient from 'openapi-fetch';
import type { paths } from '../../../client/src/schema.d.ts';

export type { BodyOf, Kind, Of, Schemas } from '../../../client/src/records.ts';

/** A browser is known by the cookie that signing in sets. Lists in a query are one parameter with commas. */
export const api = createFetchClient<paths>({
  baseUrl: '/',
  credentials: 'same-origin',
  querySerializer: { array: { style: 'form', explode: false } },
});

/** What the server said instead of an answer: RFC 9457, with the fields at fault. */
export class Problem extends Error {
  readonly status: number;
  readonly fields: { field: string; value: string; accepted: string }[];

  constructor(status: number, said: unknown) {
    const body = (typeof said === 'object' && said ? said : {}) as {
      title?: string;
      detail?: string;
      errors?: { location?: string; field?: string; value?: unknown; message?: string; accepted?: string }[] | null;
    };
    super(body.detail || body.title || `The server answered ${status}.`);
    this.status = status;
    this.fields = (body.errors ?? []).map((e) => ({
      field: e.field ?? e.location ?? '',
      value: String(e.value ?? ''),
      accepted: e.accepted ?? e.message ?? '',
    }));
  }
}

/** Gives the data of an answer, or throws the problem. */
export async function answer<T>(pending: Promise<{ data?: T; error?: unknown; response: Response }>): Promise<T> {
  const { data, error, response } = await pending;
  if (error !== undefined || data === undefined) throw new Problem(response.status, error);
  return data;
}
