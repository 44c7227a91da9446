/**
 * Icons: 2.5 px lines on a 32 px grid, square ends, open shapes, one object each, in plan or side view. An icon always stands beside its
 * word, so none of them speaks to a screen reader.
 */
const drawn = {
  look: 'M3 16 C9 7 23 7 29 16 C23 25 9 25 3 16 M16 12 V20 M12 16 H20',
  feel: 'M9 29 V17 L5 12 M9 17 V6 M14 15 V3 M19 15 V4 M24 17 V8 M24 17 C24 24 22 29 17 29 H9',
  open: 'M4 27 H28 V18 H4 Z M4 18 L24 5 M20 24 H28',
  drain: 'M4 5 H28 V13 H20 M4 5 V13 H12 M16 13 V18 M12 23 V28 M20 23 V28 M16 25 V30',
  lower: 'M5 4 H19 V12 H14 V20 H19 V28 H9 V12 H5 Z M26 8 V26 M22 22 L26 27 L30 22',
  water: 'M16 3 C20 10 25 14 25 20 A9 9 0 0 1 7 20 C7 14 12 10 16 3 Z',
  mud: 'M2 24 C7 19 10 27 15 22 C20 17 24 26 30 21 M6 12 H10 M16 9 H20 M24 14 H28',
  plant: 'M16 30 V4 M16 12 L8 7 M16 12 L24 7 M16 19 L7 14 M16 19 L25 14 M16 26 L8 22 M16 26 L24 22',
  attached_animal: 'M5 27 H27 M8 27 C8 15 13 7 24 5 C27 14 25 22 19 27 M12 25 C13 18 16 13 22 8',
  loose_animal: 'M9 15 A7 7 0 1 0 23 15 A7 7 0 1 0 9 15 M16 22 V31 M11 9 L6 3 M21 9 L26 3',
  egg: 'M6 10 A5 5 0 1 0 16 10 A5 5 0 1 0 6 10 M17 15 A5 5 0 1 0 27 15 A5 5 0 1 0 17 15 M8 23 A5 5 0 1 0 18 23 A5 5 0 1 0 8 23',
  bait: 'M20 3 V20 A7 7 0 1 1 6 20 L6 16 M6 16 L11 20 M16 3 H24',
  other: 'M5 16 H9 M14 16 H18 M23 16 H27',
  damp: 'M6 6 L10 12 M16 6 L20 12 M26 6 L29 11 M3 20 H29 M3 27 H29',
  unseen: 'M3 16 C9 7 23 7 29 16 C23 25 9 25 3 16 M5 28 L27 4',
  undo: 'M12 6 L4 13 L12 20 M4 13 H20 A7 7 0 0 1 20 27 H13',
  boats: 'M4 12 H19 C25 12 28 16 29 18 C28 20 25 24 19 24 H4 Z M13 9 V27',
  call: 'M7 4 H13 L15 11 L11 14 C13 19 15 21 19 22 L22 18 L28 20 V26 C16 32 1 16 7 4 Z',
  camera: 'M3 10 H10 L12 6 H20 L22 10 H29 V26 H3 Z M11 18 A5 5 0 1 0 21 18 A5 5 0 1 0 11 18',
  spray: 'M3 13 H13 V19 H3 M13 16 H17 M21 16 H30 M21 10 L29 6 M21 22 L29 26',
  sun: 'M10 16 A6 6 0 1 0 22 16 A6 6 0 1 0 10 16 M16 2 V6 M16 26 V30 M2 16 H6 M26 16 H30 M6 6 L9 9 M23 23 L26 26 M26 6 L23 9 M6 26 L9 23',
  clock: 'M4 16 A12 12 0 1 0 28 16 A12 12 0 1 0 4 16 M16 8 V16 L22 20',
  thermometer: 'M13 4 H19 V19 A6 6 0 1 1 13 19 Z M16 10 V24 M22 8 H26 M22 13 H26',
  code: 'M4 4 H12 V12 H4 Z M20 4 H28 V12 H20 Z M4 20 H12 V28 H4 Z M20 20 H24 V24 H28 V28 H20 M28 20 V21',
  person: 'M11 9 A5 5 0 1 0 21 9 A5 5 0 1 0 11 9 M5 29 V23 C5 19 9 17 16 17 C23 17 27 19 27 23 V29',
  turn: 'M8 6 V20 H24 M18 14 L24 20 L18 26',
  tally: 'M6 6 V26 M12 6 V26 M18 6 V26 M24 6 V26 M3 22 L28 10',
  paper: 'M6 3 H20 L26 9 V29 H6 Z M20 3 V9 H26 M11 15 H21 M11 20 H21 M11 25 H17',
  refuse: 'M5 5 H27 V20 H16 L9 27 V20 H5 Z M11 12 H21',
  list: 'M4 8 H8 M13 8 H28 M4 16 H8 M13 16 H28 M4 24 H8 M13 24 H28',
  lock: 'M7 14 H25 V28 H7 Z M11 14 V9 A5 5 0 0 1 21 9 V14 M16 19 V23',
  settings: 'M4 9 H18 M24 9 H28 M18 5 V13 H24 V5 Z M4 23 H8 M14 23 H28 M8 19 V27 H14 V19 Z',
  route: 'M5 25 H13 V9 H27 M22 4 L27 9 L22 14',
} as const;

export type IconName = keyof typeof drawn;

export const isIcon = (name: string): name is IconName => name in drawn;

export function Icon({ name, size = 32 }: { name: IconName; size?: number }) {
  return (
    <svg className="icon" viewBox="0 0 32 32" width={size} height={size} aria-hidden="true">
      <path
        d={drawn[name]}
        fill="none"
        stroke="currentColor"
        strokeWidth="2.5"
        strokeLinecap="square"
        strokeLinejoin="miter"
      />
    </svg>
  );
}
