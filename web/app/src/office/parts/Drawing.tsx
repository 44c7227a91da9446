import { type Encounter, plain } from '../records.ts';
import { say } from '../words.ts';

/** The craft as it was recorded (drawn anew for each version), from above and from the side, with what was looked at and where something was found. */
export function Drawing({ id, version, body }: { id: string; version: string; body: Encounter }) {
  const { setup, findings } = body.inspection;
  if (!setup?.class) return null;
  const craft = plain(setup.class);
  const found = new Set(findings?.map((f) => f.place)).size;
  const src = (view: string) => `/api/encounters/${id}/drawing?view=${view}`;
  return (
    <section>
      <h2>{say('boat.drawing')}</h2>
      <figure className="drawing on-paper">
        <img key={`plan ${version}`} src={src('plan')} alt={say('boat.drawnPlan', { craft, found })} />
        <img key={`side ${version}`} src={src('side')} alt={say('boat.drawnSide', { craft })} />
        <figcaption className="when">{say('boat.drawingKey')}</figcaption>
      </figure>
    </section>
  );
}
