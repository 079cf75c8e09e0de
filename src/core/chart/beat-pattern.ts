/**
 * A conductor's beat pattern: a path through the felt beats of a bar, each beat at the low turn of its stroke, for the
 * right hand as the conductor sees it, so `in` is to the left. Common practice, no source; the curves are our own.
 *
 * Points lie in a unit square, y downwards. One bar is once round: beat 0 is the downbeat at the bottom, and the last
 * stroke goes over the top and falls into it.
 */
import type { Metre } from '../meter/metre.js';
import { feltBeats } from '../meter/metres.js';

export type Direction = 'down' | 'in' | 'out' | 'up';

export interface Point {
  readonly x: number;
  readonly y: number;
}

/** A cubic curve: start, two controls, end. */
type Curve = readonly [Point, Point, Point, Point];

export interface BeatPattern {
  readonly directions: readonly Direction[];
  /** The low turn of each beat. */
  readonly turns: readonly Point[];
  /** The way from each beat to the next: one curve, or two where it goes over the top. */
  readonly ways: readonly (readonly Curve[])[];
}

const BOTTOM: Point = { x: 0.5, y: 0.86 };
const TOP: Point = { x: 0.46, y: 0.05 };
const REACH = 0.38;

/**
 * The direction of each beat: 2 down, up; 3 down, out, up; 4 down, in, out, up; 6 down, in, in, out, out, up; 5 and more
 * alike, the odd one going in, or out where an accent lies on beat 3 of 5 (2+3).
 */
export function beatDirections(metre: Metre): readonly Direction[] {
  const beats = feltBeats(metre);
  if (beats.length === 1) return ['down'];
  const between = beats.length - 2;
  const twoAndThree = beats.length === 5 && beats[2]?.accent === 'group';
  const inwards = between === 1 ? 0 : twoAndThree ? 1 : Math.ceil(between / 2);
  return ['down', ...repeat('in', inwards), ...repeat('out', between - inwards), 'up'];
}

/** The pattern of any metre, from one felt beat upwards. */
export function beatPattern(metre: Metre): BeatPattern {
  const directions = beatDirections(metre);
  const turns = turnsOf(directions);
  const ways = turns.map((turn, i) => {
    const next = turns[i + 1];
    return next === undefined ? overTheTop(turn, turns.length === 1) : [swing(turn, next)];
  });
  return { directions, turns, ways };
}

/** Where the hand is: at the low turn for phase 0, quick near the turns and slow between them. */
export function handAt(pattern: BeatPattern, beat: number, phase: number): Point {
  const way = pattern.ways[beat % pattern.ways.length] ?? [];
  const place = eased(phase) * way.length;
  const curve = way[Math.min(way.length - 1, Math.floor(place))];
  return curve === undefined ? BOTTOM : pointOn(curve, place - Math.min(way.length - 1, Math.floor(place)));
}

/** The whole path as SVG path data in a box of `width` × `height`. */
export function patternPath(pattern: BeatPattern, width: number, height: number): string {
  const at = ({ x, y }: Point): string => `${round(x * width)} ${round(y * height)}`;
  const start = pattern.turns[0] ?? BOTTOM;
  const curves = pattern.ways.flat().map(([, first, second, end]) => `C${at(first)} ${at(second)} ${at(end)}`);
  return `M${at(start)}${curves.join('')}`;
}

function turnsOf(directions: readonly Direction[]): readonly Point[] {
  const count = (wanted: Direction): number => directions.filter((direction) => direction === wanted).length;
  const inwards = count('in');
  const outwards = count('out');
  let gone = 0;
  return directions.map((direction, i) => {
    if (direction !== directions[i - 1]) gone = 0;
    gone += 1;
    if (direction === 'down') return BOTTOM;
    if (direction === 'in') return { x: BOTTOM.x - (REACH * gone) / inwards, y: 0.75 - 0.1 * (gone / inwards) };
    if (direction === 'out') return { x: BOTTOM.x + (REACH * gone) / outwards, y: 0.68 - 0.06 * (gone / outwards) };
    return directions.length === 2 ? { x: 0.7, y: 0.62 } : { x: 0.6, y: 0.5 };
  });
}

/** From one low turn to the next: away upwards, and down into the turn from above. */
function swing(from: Point, to: Point): Curve {
  const across = to.x - from.x;
  const lift = 0.14 + 0.3 * Math.abs(across);
  return [
    from,
    { x: from.x + 0.15 * across, y: from.y - lift },
    { x: to.x - 0.25 * across, y: Math.min(from.y, to.y) - lift },
    to,
  ];
}

/** From the last low turn up over the top and down into the bar line. */
function overTheTop(from: Point, alone: boolean): readonly Curve[] {
  const side = alone ? 0.2 : 0.03;
  return [
    [from, { x: from.x + side, y: from.y - 0.2 }, { x: TOP.x + side + 0.08, y: TOP.y + 0.1 }, TOP],
    [TOP, { x: TOP.x - 0.02, y: TOP.y + 0.25 }, { x: BOTTOM.x - 0.02, y: BOTTOM.y - 0.3 }, BOTTOM],
  ];
}

/** Runs evenly from 0 to 1 with most of its speed at both ends. */
function eased(phase: number): number {
  const p = Math.min(1, Math.max(0, phase));
  return 0.6 * p + 0.4 * (0.5 + 4 * (p - 0.5) ** 3);
}

function pointOn([a, b, c, d]: Curve, t: number): Point {
  const u = 1 - t;
  const mix = (w: number, x: number, y: number, z: number): number =>
    u * u * u * w + 3 * u * u * t * x + 3 * u * t * t * y + t * t * t * z;
  return { x: mix(a.x, b.x, c.x, d.x), y: mix(a.y, b.y, c.y, d.y) };
}

const repeat = (direction: Direction, times: number): readonly Direction[] =>
  Array.from({ length: times }, () => direction);
const round = (value: number): number => Math.round(value * 100) / 100;
