/** One stave as it is to be drawn, and the room that things take on the page. No rule of music is decided here. */
import type { Ink } from '../../core/chart/ink.js';
import type { LayerId } from '../../core/song/ids.js';

export interface Stave {
  /** Null for the part in hand, which is no layer yet. */
  readonly layer: LayerId | null;
  readonly name: string;
  /** Null while it is being read, or before anything was played. */
  readonly ink: Ink | null;
  readonly gain: number;
  readonly leftOut: boolean;
  readonly unsure: boolean;
  /** Whether a pass is filling it, or about to. */
  readonly live: boolean;
}

/** A stave that is a layer. */
export type LayerStave = Stave & { readonly layer: LayerId };

export const isLayer = (stave: Stave): stave is LayerStave => stave.layer !== null;

/** In CSS pixels. */
export interface Metrics {
  /** Names stand above their staves, not beside them. */
  readonly narrow: boolean;
  readonly names: number;
  readonly margin: number;
  /** From stave to stave. */
  readonly pitch: number;
  /** Above the first stave: bar numbers, and the baton over them. */
  readonly top: number;
  /** Under the last stave: the pencil bracket. */
  readonly foot: number;
  /** Height of the loudest stem. */
  readonly ink: number;
}

const NARROW_UNDER = 640;
/** Above this the names have room to spare. */
const ROOMY_FROM = 1500;
const PITCH = { least: 26, single: 56, narrow: 58 } as const;
/** Wide pages are read from further away: staves may grow with them between these bounds. */
const MOST_PITCH = { least: 44, most: 64, ofWidth: 0.03 } as const;
/** Over the ink of a stave; on narrow pages its name stands there. */
const OVER_INK = { wide: 8, narrow: 32 } as const;
const TOP = 44;
const FOOT = 20;

/** The room a score has on the page, and what it must hold. */
export interface Room {
  readonly width: number;
  readonly height: number;
  readonly staves: number;
  readonly lines: number;
}

export const isNarrow = (width: number): boolean => width < NARROW_UNDER;

/** Beside the staves: their names on the left, the margin on the right. */
export function sidesFor(width: number): Pick<Metrics, 'names' | 'margin'> {
  if (isNarrow(width)) return { names: 10, margin: 4 };
  return width < ROOMY_FROM ? { names: 150, margin: 130 } : { names: 184, margin: 150 };
}

/** Staves as high as the room allows, within reason. A single one is as high as the metre that stands on it. */
export function metricsFor({ width, height, staves, lines }: Room): Metrics {
  const narrow = isNarrow(width);
  const share = (height / lines - TOP - FOOT) / Math.max(1, staves);
  const most = Math.min(MOST_PITCH.most, Math.max(MOST_PITCH.least, MOST_PITCH.ofWidth * width));
  const shared = Math.floor(Math.min(most, Math.max(PITCH.least, share)));
  const pitch = narrow ? PITCH.narrow : staves === 1 ? Math.max(PITCH.single, shared) : shared;
  const ink = pitch - (narrow ? OVER_INK.narrow : OVER_INK.wide) - LINE_UP;
  return { narrow, ...sidesFor(width), pitch, top: TOP, foot: FOOT, ink };
}

/** Where the music begins: metre and repeat sign on the first line, a bar line on the others. */
export const FIRST_HEAD = 58;
export const LATER_HEAD = 3;
export const BAR = {
  narrow: { least: 104, lead: 7 },
  wide: { least: 140, lead: 9 },
} as const;
/** The stave line above the lower edge of its row. */
export const LINE_UP = 5;
