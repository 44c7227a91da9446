import type { Sight, Sign } from '../engine/types.ts';
import { useSay } from '../messages/index.tsx';

const W = 320;
const H = 150;

/** So many units of the drawing stand for a millimetre: grains are a dot, a puddle a pool. */
const unitsOf = (mm: number) => Math.min(92, 2.2 + 5.2 * Math.sqrt(Math.max(0, mm)) * 0.72);

/** A number in [0, 1) that a text and a number give again, so that a mark looks the same each time. */
function luck(text: string, n: number): number {
  let h = 2166136261 ^ n;
  for (let i = 0; i < text.length; i++) h = Math.imul(h ^ text.charCodeAt(i), 16777619);
  return ((h ^ (h >>> 15)) >>> 0) / 4294967296;
}

/**
 * A place close up, with what is to be seen there as small marks: each by its form, its size and how far it stands out. What only the
 * hand finds is a dashed ring. Nothing says which of them matter.
 */
export function Closeup({ name, sight, done }: { name: string; sight: Sight | undefined; done: boolean }) {
  const say = useSay();
  const shut = sight?.shut?.includes('open') ?? false;
  return (
    <svg className="closeup" viewBox={`0 0 ${W} ${H}`} role="img" aria-label={say('drill.closeup', { name })}>
      <Ground name={name} open={done && !shut} />
      {!done || shut ? (
        <g className="closeup-shut">
          {[0, 1, 2, 3, 4, 5, 6, 7, 8].map((n) => (
            <path key={n} d={`M${n * 40} 0 L${n * 40 - 60} ${H}`} />
          ))}
          <rect x={W / 2 - 104} y={H / 2 - 18} width={208} height={36} />
          <text x={W / 2} y={H / 2 + 6}>
            {say(shut ? 'drill.shut' : 'drill.nothingYet')}
          </text>
        </g>
      ) : null}
      {done && !shut ? sight?.signs.map((s) => <Mark key={s.id} sign={s} />) : null}
      {done && !shut && (sight?.wet === 'water' || sight?.wet === 'film') ? (
        <path className={`closeup-${sight.wet}`} d={`M20 ${H - 12} q20 -7 40 0 t40 0 t40 0 t40 0 t40 0 t40 0 t40 0`} />
      ) : null}
    </svg>
  );
}

/** A few lines that every place has of its own: seams, rivets, an edge. They keep a bare place from looking bare. */
function Ground({ name, open }: { name: string; open: boolean }) {
  const y = 30 + luck(name, 1) * 40;
  const rivets = 4 + Math.floor(luck(name, 2) * 5);
  const scuffs = 3 + Math.floor(luck(name, 3) * 5);
  return (
    <g className={open ? 'closeup-ground' : 'closeup-ground closeup-dim'}>
      <path d={`M0 ${y} C80 ${y - 12} 220 ${y + 14} ${W} ${y - 4}`} />
      {Array.from({ length: rivets }, (_, n) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: the same rivets each time
        <circle key={n} cx={(W * (n + 0.5)) / rivets} cy={y + 12 + 3 * luck(name, n + 10)} r={2.2} />
      ))}
      {Array.from({ length: scuffs }, (_, n) => {
        const [x, z] = [20 + 280 * luck(name, n + 30), y + 24 + (H - y - 34) * luck(name, n + 50)];
        // biome-ignore lint/suspicious/noArrayIndexKey: the same scuffs each time
        return <path key={n} d={`M${x} ${z} l${6 + 14 * luck(name, n + 70)} ${-3 + 6 * luck(name, n + 90)}`} />;
      })}
    </g>
  );
}

function Mark({ sign }: { sign: Sign }) {
  const x = 16 + sign.x * (W - 32);
  const y = 14 + sign.y * (H - 28);
  const r = unitsOf(sign.sizeMM) / 2;
  const seen = Boolean(sign.seen);
  return (
    <g
      className={seen ? `sign sign-${sign.form}` : 'sign sign-felt'}
      opacity={seen ? 1 - 0.72 * sign.faint : undefined}
      transform={`translate(${x} ${y})`}
    >
      {seen ? (
        Array.from({ length: Math.min(sign.number, 24) }, (_, n) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: the same marks each time
          <g key={n} transform={n === 0 ? undefined : `translate(${spread(sign, n, r)})`}>
            <Form form={sign.form} r={r} turn={360 * luck(sign.id, n)} />
          </g>
        ))
      ) : (
        <circle r={Math.max(9, r + 5)} />
      )}
    </g>
  );
}

/** Where the n-th of several lies beside the first. */
function spread(sign: Sign, n: number, r: number): string {
  const reach = Math.max(2.2 * r, 5) * (0.6 + Math.sqrt(n) * 0.55);
  const turn = 2 * Math.PI * luck(sign.id, n + 200);
  return `${reach * Math.cos(turn)} ${reach * 0.6 * Math.sin(turn)}`;
}

function Form({ form, r, turn }: { form: string; r: number; turn: number }) {
  switch (form) {
    case 'strand':
      return (
        <path
          className="sign-line"
          transform={`rotate(${turn % 40})`}
          d={`M${-r} 0 q${r / 2} ${-r * 0.7} ${r} 0 t${r} 0 M${-r * 0.5} ${-r * 0.24} l${r * 0.14} ${-r * 0.42} M0 0 l${r * 0.16} ${r * 0.44} M${r * 0.5} ${r * 0.24} l${r * 0.2} ${-r * 0.4}`}
        />
      );
    case 'thread':
      return <path className="sign-line" transform={`rotate(${turn})`} d={`M${-r} 0 q${r} ${r * 0.8} ${2 * r} 0`} />;
    case 'leaf':
      return (
        <path
          transform={`rotate(${turn})`}
          d={`M${-r} 0 Q0 ${-r * 0.7} ${r} 0 Q0 ${r * 0.7} ${-r} 0 Z M${-r} 0 H${r * 0.8}`}
        />
      );
    case 'shell':
      return (
        <path
          transform={`rotate(${turn})`}
          d={`M${-r} ${r * 0.3} Q${-r * 0.3} ${-r} ${r} ${-r * 0.25} Q${r * 0.5} ${r * 0.8} ${-r} ${r * 0.3} Z M${-r * 0.5} ${r * 0.2} Q0 ${-r * 0.4} ${r * 0.6} ${-r * 0.1}`}
        />
      );
    case 'smear':
      return (
        <path
          className="sign-smear"
          d={`M${-r} ${-r * 0.2} Q${-r * 0.2} ${-r * 0.7} ${r * 0.5} ${-r * 0.35} T${r} ${r * 0.2} Q${r * 0.2} ${r * 0.6} ${-r * 0.4} ${r * 0.35} T${-r} ${-r * 0.2} Z`}
        />
      );
    case 'drop':
      return <ellipse className="sign-water" rx={r} ry={Math.max(1.6, r * 0.42)} />;
    case 'blob':
      return <ellipse rx={r} ry={r * 0.75} transform={`rotate(${turn})`} />;
    default:
      return <circle r={Math.max(1.1, r * 0.8)} />;
  }
}
