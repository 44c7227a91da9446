import { useRef } from 'react';
import { local } from '../local/index.ts';
import type { PhotoKept } from '../local/types.ts';
import { useSay } from '../messages/index.tsx';
import { Tile } from '../parts/Tiles.tsx';
import { useRamp } from './state.tsx';

/** A picture of the sheet itself, so that what was keyed can be held against it later. */
export function SheetPhoto({ photo, onPhoto }: { photo: PhotoKept | undefined; onPhoto: (p: PhotoKept) => void }) {
  const say = useSay();
  const { saving, status } = useRamp();
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <Tile
        icon="camera"
        disabled={status.photosPaused}
        pressed={photo !== undefined}
        onClick={() => input.current?.click()}
      >
        {say(photo ? 'key.photoKept' : 'key.photo')}
      </Tile>
      <input
        ref={input}
        type="file"
        accept="image/*"
        capture="environment"
        hidden
        aria-label={say('key.photo')}
        onChange={async (e) => {
          const picked = e.target.files?.[0];
          e.target.value = '';
          if (picked) await saving(async () => onPhoto(await local.photos.add(picked)));
        }}
      />
    </>
  );
}
