/** A pass that is played, closed and listened to: from what a player plays to the loop that comes of it. */
import type { EngineReport } from '../../src/core/render/commands.js';
import { type SeamWish, hearSeam } from '../../src/core/seam/hear.js';
import type { Seam } from '../../src/core/seam/seam.js';
import { frames, sampleRate } from '../../src/core/units/index.js';
import { Performance, type PerformanceOptions } from './performance.js';
import { type TestLayer, programOf } from './programs.js';

/** 4/4 at 96 and 48 kHz. */
const BAR = 120_000;
export const BEAT = BAR / 4;
export const BARS = 2;
export const BODY = BARS * BAR;

export interface PlayedLoop extends PerformanceOptions {
  /** What the player plays: frame 0 is line 0 as they hear it. */
  readonly sound: (frame: number) => number;
  /** Whether they are known to have gone on. */
  readonly playedOn: true | null;
  readonly wish?: SeamWish;
}

export interface Looped {
  readonly p: Performance;
  readonly closed: Extract<EngineReport, { type: 'layer-closed' }>;
  /** Engine frame of line 0; the seam that was heard holds from the second round on. */
  readonly origin: number;
  readonly seam: Seam;
  readonly layer: TestLayer;
}

/** Records two bars after a bar of count-in, hears its seam when all of the recording is there, and plays it so. */
export function looped({ sound, playedOn, wish = { chosen: null, pickup: false }, ...options }: PlayedLoop): Looped {
  const p = new Performance(options);
  p.useProgram(programOf());
  p.rules(BARS);
  p.pressAt(1000);
  const { origin } = p;
  p.play = (heard) => Math.fround(sound(heard - origin));
  const closed = p.runUntilReport('layer-closed');
  p.runUntilReport('recording-ended');
  const samples = Float32Array.from(p.stored.get(closed.audio)?.[0] ?? []);
  const { bodyStart, bodyFrames } = closed;
  const tail = frames(samples.length - bodyStart - bodyFrames);
  const body = { bodyStart, bodyFrames, lead: bodyStart, tail };
  const seam = hearSeam(samples, body, frames(BEAT), sampleRate(p.rate), wish, playedOn);
  const layer = { voice: closed.pass, audio: closed.audio, bodyStart, bodyFrames, bars: BARS, tail, seam };
  p.useProgram(programOf({ sectionBars: BARS, layers: [layer] }, 2, closed.pass));
  return { p, closed, origin, seam, layer };
}
