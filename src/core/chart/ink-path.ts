/**
 * The drawing of ink on one line of a stave: each onset a stem, each decay a tapering stroke behind it, upper half only.
 * One path for the whole line, so that a stave costs one element however much is played.
 */
import type { Ink } from './ink.js';
import type { SystemLine } from './system-layout.js';

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
/** Part of the height that is left at each quarter of a decay. It falls as a plucked string does, and ends on the line. */
const TAPER = [1, 0.5, 0.25, 0.1, 0] as const;

/** SVG path data; empty where nothing sounds in these bars. */
export function inkPath(ink: Ink, { line, sectionBars, baseline, height }: InkPathOptions): string {
  let path = '';
  const left = line.firstBar;
  const right = left + line.bars;
  const xOf = (bar: number): number => line.head + (bar - left) * line.barWidth;
  for (let round = 0; ink.bars > 0 && round * ink.bars < sectionBars; round += 1) {
    for (const stroke of ink.strokes) {
      const from = (round + stroke.at) * ink.bars;
      const until = Math.min((round + stroke.at + stroke.decay) * ink.bars, sectionBars);
      if (until < left || from >= right || from >= sectionBars) continue;
      const top = Math.max(1, stroke.height * height);
      if (from >= left) path += stem(xOf(from), baseline, top, stroke.height);
      path += decay(xOf(from), xOf(until) - GAP, xOf(left), xOf(right), baseline, top);
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
  const length = until - from;
  const start = Math.max(from, left);
  const end = Math.min(until, right);
  if (end - start < 1) return '';
  const heightAt = (x: number): number => top * taper((x - from) / length);
  const inner = TAPER.map((_, i) => from + (length * i) / (TAPER.length - 1)).filter((x) => x > start && x < end);
  const points = [start, ...inner, end].map((x) => `L${n(x)} ${n(baseline - heightAt(x))}`);
  return `M${n(start)} ${n(baseline)}${points.join('')}L${n(end)} ${n(baseline)}z`;
}

/** Straight between the corners of `TAPER`. */
function taper(part: number): number {
  const place = Math.min(1, Math.max(0, part)) * (TAPER.length - 1);
  const before = Math.min(TAPER.length - 2, Math.floor(place));
  const a = TAPER[before] ?? 0;
  const b = TAPER[before + 1] ?? 0;
  return a + (b - a) * (place - before);
}

/** A tenth of a pixel is enough, and keeps paths short. */
const n = (value: number): string => String(Math.round(value * 10) / 10);
