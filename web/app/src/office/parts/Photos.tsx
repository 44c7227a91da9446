import { useState } from 'react';
import type { BodyOf } from '../../shared/api.ts';
import { useBelonging } from '../data.ts';
import { type Encounter, plain } from '../records.ts';
import { say } from '../words.ts';

type Photo = BodyOf<'photo'>;

/** The pictures of a record. One that the phone has not sent yet is said to be missing, not left out. */
export function Photos({ id, body }: { id: string; body: Encounter }) {
  const photos = useBelonging('photo', id).flatMap((row) => row.body ?? []);
  if (photos.length === 0) return null;
  return (
    <section>
      <h2>{say('boat.photos')}</h2>
      <ul className="photos">
        {photos.map((p) => (
          <li key={p.sha256}>
            <Picture photo={p} what={plain(body.inspection.findings?.[(p.finding ?? 0) - 1]?.place)} />
          </li>
        ))}
      </ul>
    </section>
  );
}

function Picture({ photo, what }: { photo: Photo; what: string }) {
  const [missing, setMissing] = useState(false);
  const words = photo.finding ? say('boat.photoOf', { n: photo.finding, what }) : say('boat.photo');
  const src = `/api/pictures/${photo.sha256}`;
  return (
    <figure>
      {missing ? (
        <p className="when">{say('boat.photoMissing')}</p>
      ) : (
        <a href={src}>
          <img src={src} alt={words} loading="lazy" onError={() => setMissing(true)} />
        </a>
      )}
      <figcaption>{words}</figcaption>
    </figure>
  );
}
