/**
 * Craft in side view, bow to the right, drawn for this product. The hull's keel line lies on y = 56 of a 120 × 64 field; the length of the
 * drawing follows the craft's usual length, so that a canoe beside a cruiser looks like one.
 */
const hulls: Record<string, { hull: string; more?: string }> = {
  open_aluminium_fishing: {
    hull: 'M14 40 H84 L112 36 C106 47 97 55 84 56 H16 Z',
    more: 'M14 42 H8 V50 H12 V62 M34 40 V35 H42 V40 M62 40 V35 H70 V40',
  },
  bass_boat: {
    hull: 'M16 43 H90 L114 40 C108 49 98 55 86 56 H18 Z',
    more: 'M14 41 H6 V51 H10 V62 M48 43 V35 L56 43 M26 43 V38 H34 V43 M104 41 V30 L110 26',
  },
  runabout: {
    hull: 'M14 38 H62 L112 34 C105 47 95 55 82 56 H16 Z',
    more: 'M56 38 L66 26 L76 37 M14 52 H7 V61 M24 38 V33 H34 V38',
  },
  cabin_cruiser: {
    hull: 'M10 36 H60 L114 30 C107 46 96 55 84 56 H14 Z',
    more: 'M36 36 V18 H66 L80 33 M42 24 H62 L68 31 H42 Z M22 36 V31 H30 V36 M10 52 H4 V61',
  },
  pontoon: {
    hull: 'M8 46 H102 C110 46 113 50 114 54 C108 56 104 57 100 57 H8 Z',
    more: 'M10 46 V42 H104 V46 M14 42 V30 H98 V42 M30 30 V14 H74 V30 M26 14 H78 M4 44 V62',
  },
  wake_boat: {
    hull: 'M8 38 H64 L114 34 C106 47 96 55 82 56 H12 Z',
    more: 'M30 38 L44 16 H60 L66 38 M62 38 L72 27 L82 36 M30 56 L26 61',
  },
  sailboat_centreboard: {
    hull: 'M16 46 H104 L112 44 C106 51 98 55 88 56 H22 Z',
    more: 'M66 46 V4 M62 8 L26 42 H62 Z M70 12 L100 43 H70 Z M60 56 V62',
  },
  sailboat_keel: {
    hull: 'M10 40 H104 L114 37 C106 46 98 50 86 51 H16 Z',
    more: 'M62 40 V2 M58 6 L20 36 H58 Z M44 40 V34 H84 V39 M50 51 L54 62 H70 L72 51',
  },
  personal_watercraft: {
    hull: 'M20 44 H52 L100 40 C94 50 86 55 74 56 H24 Z',
    more: 'M26 44 C30 36 44 34 52 38 L62 28 L70 30 L76 41',
  },
  canoe_kayak: {
    hull: 'M8 36 C14 45 24 46 36 46 H84 C96 46 106 45 112 36 C112 48 102 55 88 55 H32 C18 55 8 48 8 36 Z',
    more: 'M44 46 L74 26 M72 24 L82 20',
  },
  paddleboard: {
    hull: 'M8 48 C8 45 14 44 24 44 H92 C104 44 110 42 114 38 C112 47 104 51 92 51 H24 C14 51 8 50 8 48 Z',
    more: 'M24 51 L20 60 H28 V51 M56 44 V12 M52 6 H60 V18 H52 Z',
  },
  jon_duck_boat: {
    hull: 'M14 42 H94 L110 38 L98 55 L88 56 H14 Z',
    more: 'M14 44 H7 V52 H11 V62 M40 42 V36 H50 V42 M70 42 V36 H80 V42',
  },
  houseboat: {
    hull: 'M4 44 H108 L116 42 L108 55 H8 Z',
    more: 'M12 44 V14 H92 V44 M6 14 H98 M22 22 H38 V34 H22 Z M48 22 H64 V34 H48 Z M74 22 H84 V44',
  },
  raft_drift_boat: {
    hull: 'M6 34 C20 44 36 46 60 46 C84 46 100 44 114 32 C110 48 96 56 60 56 C24 56 10 48 6 34 Z',
    more: 'M50 46 L26 24 M70 46 L94 22 M54 46 V40 H66 V46',
  },
  row_utility: { hull: 'M12 42 H96 L110 37 C104 48 96 55 84 56 H16 Z', more: 'M50 42 L22 58 M46 42 V38 H58 V42' },
  inflatable: {
    hull: 'M12 44 C12 39 16 38 22 38 H88 C98 38 106 35 112 28 C116 40 104 52 90 54 H22 C14 54 12 50 12 44 Z',
    more: 'M12 46 H88 M12 40 H6 V50 H10 V61',
  },
  float_tube: {
    hull: 'M14 46 C14 38 24 36 36 36 H84 C98 36 106 40 106 46 C106 53 96 56 84 56 H36 C24 56 14 53 14 46 Z',
    more: 'M40 36 V16 H52 V36 H80',
  },
  seaplane_floats: {
    hull: 'M10 54 C10 50 16 50 24 50 H92 C104 50 110 48 114 46 C110 55 100 58 88 58 H20 C14 58 10 57 10 54 Z',
    more: 'M8 18 L16 30 H100 C108 30 110 24 102 21 L80 20 L76 14 H56 M24 26 H4 M46 30 L38 50 M80 30 L84 50 M46 16 H86',
  },
  dock_or_lift: {
    hull: 'M8 34 H112 V42 H8 Z',
    more: 'M20 34 V60 M60 34 V60 M100 34 V60 M12 60 H28 M52 60 H68 M92 60 H108 M8 48 H112',
  },
  other: { hull: 'M14 40 H70 L110 36 C104 48 96 55 84 56 H16 Z', more: 'M44 30 H56 M50 24 V36' },
};

/** Metres that fill the field; longer craft are drawn as this long. */
const FULL_M = 7.5;

export function Silhouette({ craft, lengthM }: { craft: string; lengthM: number }) {
  const shape = hulls[craft] ?? hulls.other;
  const width = Math.max(0.4, Math.min(1, lengthM / FULL_M));
  return (
    <svg className="silhouette" viewBox="0 0 120 64" aria-hidden="true">
      <g transform={`translate(${60 * (1 - width)} ${58 * (1 - width)}) scale(${width})`}>
        <path
          className="silhouette-hull"
          d={shape?.hull}
          vectorEffect="non-scaling-stroke"
          strokeDasharray={craft === 'other' ? '5 4' : undefined}
        />
        {shape?.more ? <path className="silhouette-more" d={shape.more} vectorEffect="non-scaling-stroke" /> : null}
      </g>
    </svg>
  );
}

/** The craft classes that have a drawing of their own. */
export const drawnCraft = Object.keys(hulls);
