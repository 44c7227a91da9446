import { useEffect, useState } from 'react';
import type { Picture as Drawn } from '../engine/types.ts';

/** A picture that the engine drew. It is shown as an image, so that nothing in it can act on the page. */
export function Picture({ picture, className }: { picture: Drawn; className?: string }) {
  const [url, setUrl] = useState<string>();
  useEffect(() => {
    const made = URL.createObjectURL(new Blob([picture.svg], { type: 'image/svg+xml' }));
    setUrl(made);
    return () => URL.revokeObjectURL(made);
  }, [picture.svg]);
  return url ? (
    <img className={className} src={url} width={picture.width} height={picture.height} alt={picture.title} />
  ) : null;
}
