import { useEffect, useRef, useState } from 'react';
import { useSay } from '../messages/index.tsx';
import { Field } from '../parts/Field.tsx';
import { Tile, Tiles } from '../parts/Tiles.tsx';

interface Detector {
  detect(source: HTMLVideoElement): Promise<readonly { rawValue: string }[]>;
}
type DetectorClass = new (options: { formats: string[] }) => Detector;

/** How often a picture of the camera is looked at. */
const LOOK_MS = 250;

/** The browser's own reader of codes where it has one, else one that is fetched only when it is needed. */
async function reader(): Promise<(video: HTMLVideoElement) => Promise<string | undefined>> {
  const own = (globalThis as { BarcodeDetector?: DetectorClass }).BarcodeDetector;
  if (own) {
    const detector = new own({ formats: ['qr_code'] });
    return async (video) => (await detector.detect(video))[0]?.rawValue;
  }
  const { default: jsqr } = await import('jsqr');
  const canvas = document.createElement('canvas');
  return async (video) => {
    canvas.width = video.videoWidth;
    canvas.height = video.videoHeight;
    const context = canvas.getContext('2d', { willReadFrequently: true });
    if (!context || canvas.width === 0) return undefined;
    context.drawImage(video, 0, 0);
    const { data, width, height } = context.getImageData(0, 0, canvas.width, canvas.height);
    return jsqr(data, width, height)?.data;
  };
}

/** Reads a code by camera, or its letters typed or pasted. The camera is off until it is asked for. */
export function Scan({ label, onText }: { label: string; onText: (text: string) => void }) {
  const say = useSay();
  const video = useRef<HTMLVideoElement>(null);
  const [on, setOn] = useState(false);
  const [text, setText] = useState('');
  const [wrong, setWrong] = useState('');
  const told = useRef(onText);
  told.current = onText;
  useEffect(() => {
    if (!on) return;
    let stream: MediaStream | undefined;
    let beat: ReturnType<typeof setInterval> | undefined;
    let gone = false;
    const start = async () => {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: 'environment' } });
      const read = await reader();
      const v = video.current;
      if (gone || !v) return;
      v.srcObject = stream;
      await v.play();
      beat = setInterval(async () => {
        const found = await read(v).catch(() => undefined);
        if (found && !gone) {
          gone = true;
          setOn(false);
          told.current(found);
        }
      }, LOOK_MS);
    };
    start().catch((e) => {
      setOn(false);
      setWrong(say('scan.noCamera', { why: e instanceof Error ? e.message : String(e) }));
    });
    return () => {
      gone = true;
      clearInterval(beat);
      for (const track of stream?.getTracks() ?? []) track.stop();
    };
  }, [on, say]);
  return (
    <section className="scan">
      {on ? <video ref={video} playsInline muted aria-label={say('scan.view')} /> : null}
      <Tile icon="camera" onClick={() => setOn(!on)} pressed={on}>
        {say(on ? 'scan.stop' : 'scan.start')}
      </Tile>
      <Field id="scan-text" label={label}>
        <textarea
          id="scan-text"
          rows={3}
          value={text}
          autoComplete="off"
          autoCapitalize="characters"
          spellCheck={false}
          onChange={(e) => setText(e.target.value)}
        />
      </Field>
      <p className="wrong" role="alert">
        {wrong}
      </p>
      <Tiles across={1}>
        <Tile disabled={!text.trim()} onClick={() => onText(text.trim())}>
          {say('scan.read')}
        </Tile>
      </Tiles>
    </section>
  );
}
