/**
 * The drawing of ink on one line of a stave: each onset a stem, each decay a tapering stroke behind it, upper half only.
 * One path for the whole line, so that a stave costs one element however much is played.
 */
import type { Ink } from './ink.js';
import { xOf, type SystemLine } from './system-layout.js';

export interface InkPathOptions {
  readonly line: SystemLine;
  /** Bars that the section has: a shorter layer goes round in it. */
  readonly sectionBars: number;
  /** Where the stave line is, y downwards. */
  readonly baseline: number;
  /** Height of the loudest stem. */
  readonly height: number;
}

/** Stems are a little heavier where the attack is louder. */
const STEM = { least: 1.5, more: 1.1 } as const;
/** The stem stands this much above its decay. */
const STEM_OVER = 1.5;
/** White between a decay and the next stem. */
const GAP = 1.5;
/** Corners of the decay, as parts of its height at 0, ⅓, ⅔ and 1 of its length: it falls as a plucked string does. */
const TAPER = [1, 0.3, 0.05, 0] as const;

/** SVG path data; empty where nothing sounds in these bars. */
export function inkPath(ink: Ink, { line, sectionBars, baseline, height }: InkPathOptions): string {
  let path = '';
  const left = line.firstBar;
  const right = left + line.bars;
  for (let round = 0; ink.bars > 0 && round * ink.bars < sectionBars; round += 1) {
    for (const stroke of ink.strokes) {
      const from = (round + stroke.at) * ink.bars;
      const until = Math.min((round + stroke.at + stroke.decay) * ink.bars, sectionBars);
      if (until < left || from >= right || from >= sectionBars) continue;
      const top = Math.max(1, stroke.height * height);
      const x = xOf(line, from);
      if (from >= left) path += stem(x, baseline, top, stroke.height);
      path += decay(x, xOf(line, until) - GAP, line.head, line.width, baseline, top);
    }
  }
  return path;
}

/** How many attacks a reader would count over the section. */
export function attacksIn(ink: Ink, sectionBars: number): number {
  let count = 0;
  for (let round = 0; ink.bars > 0 && round * ink.bars < sectionBars; round += 1) {
    count += ink.strokes.filter((stroke) => (round + stroke.at) * ink.bars < sectionBars).length;
  }
  return count;
}

function stem(x: number, baseline: number, top: number, loudness: number): string {
  const width = STEM.least + STEM.more * loudness;
  return `M${n(x)} ${n(baseline)}v${n(-top - STEM_OVER)}h${n(width)}v${n(top + STEM_OVER)}z`;
}

/** The part of a decay that lies between two edges: it may begin on the line above and end on the line below. */
function decay(from: number, until: number, left: number, right: number, baseline: number, top: number): string {
  const start = Math.max(from, left);
  const end = Math.min(until, right);
  if (end - start < 1) return '';
  const corners = cut((start - from) / (until - from), (end - from) / (until - from)).map(
    (part) => baseline - top * part,
  );
  const third = (end - start) / 3;
  const [a, b, c, d] = corners as [number, number, number, number];
  const curve = `C${n(start + third)} ${n(b)} ${n(end - third)} ${n(c)} ${n(end)} ${n(d)}`;
  return `M${n(start)} ${n(baseline)}V${n(a)}${curve}V${n(baseline)}z`;
}

/** The corners of a piece of the curve, by its blossom: corner k mixes the two ends k times. */
function cut(from: number, to: number): readonly number[] {
  return [0, 1, 2, 3].map((k) => blossom([0, 1, 2].map((i) => (i < k ? to : from))));
}

/** De Casteljau's steps on `TAPER` with a parameter of its own for each. */
function blossom(parameters: readonly number[]): number {
  let row: readonly number[] = TAPER;
  for (const t of parameters) row = row.slice(1).map((next, i) => (row[i] ?? 0) * (1 - t) + next * t);
  return row[0] ?? 0;
}

/** A tenth of a pixel is enough, and keeps paths short. */
const n = (value: number): string => String(Math.round(value * 10) / 10);
