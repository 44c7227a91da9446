import { answer, createClient, newDeviceKey, publicKeyText, type Schemas } from '../../../client/src/client.ts';
import { type Enrolment, type Local, local } from '../local/index.ts';
import { sync } from './link.ts';

/** What the server says before anybody is known. */
export interface ServerState {
  readonly demo: boolean;
  /** The programme has no account yet, so nobody can make invites. */
  readonly needsSetup: boolean;
  readonly version: string;
}

const anyone = () => createClient({ baseUrl: location.origin });

export async function serverState(): Promise<ServerState> {
  const s = await answer(anyone().GET('/api/setup', {}));
  if (typeof s?.version !== 'string') throw new TypeError('this is not the programme’s server');
  return { demo: s.demo ?? false, needsSetup: s.needed, version: s.version };
}

/** This browser can keep a key that nobody can read out, which a phone needs to sign its records. */
export async function canEnrol(): Promise<boolean> {
  try {
    await newDeviceKey();
    return true;
  } catch {
    return false;
  }
}

/** An invite code of the demo, for a phone of somebody who only wants to try. A programme's server has no such thing. */
export async function demoCode(role: 'steward' | 'technician'): Promise<string> {
  const { code } = await answer(anyone().POST('/api/demo/invite', { body: { role } }));
  return code;
}

/**
 * Enrols this phone: makes its key, hands in the public half with the code, and fetches the programme's records. Rejects
 * with the client's ProblemError where the code is not right; then nothing has changed.
 */
export async function enrol(code: string, name: string, phone: Local = local): Promise<Enrolment> {
  const keys = await newDeviceKey();
  const body = { code, name, publicKey: await publicKeyText(keys.publicKey) };
  const state: Schemas['DeviceState'] = await answer(anyone().POST('/api/enrol', { body }));
  const enrolment: Enrolment = {
    device: state.device,
    person: state.person,
    role: state.role as Enrolment['role'],
    name,
    leaseUntil: state.leaseUntil,
    demo: state.demo ?? false,
    enrolledAt: state.serverNow,
  };
  await phone.journal.setEnrolment(enrolment, keys);
  await sync.pass(true);
  return enrolment;
}
