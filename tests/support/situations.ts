/** Every situation that a player can be in, as a plan and what is heard, over the bars of a program as the product makes it. */
import { ProgramGrid } from '../../src/core/program/program-grid.js';
import type { Step, StepContext } from '../../src/core/transport/events.js';
import type { Pass, Plan, RunningPlan } from '../../src/core/transport/plan.js';
import type { Frames } from '../../src/core/units/index.js';
import { bars, frames } from '../../src/core/units/index.js';
import type { TestSong } from './programs.js';
import { programOf } from './programs.js';

export const RATE = 48_000;
const ORIGIN = 1_000_000;
export const STOPPED: Plan = { type: 'stopped', at: frames(0) };

export const SITUATIONS = [
  'stopped, nothing recorded',
  'stopped, layers there',
  'counting in, open length',
  'counting in, set length',
  'waiting for the bar',
  'playing',
  'recording, open length',
  'recording, set length',
  'recording, going round',
  'layering',
  'layering, near the line',
  'layering, hardly begun',
  'closed, not captured whole',
  'playing freely',
  'closed freely',
] as const;

export type Situation = (typeof SITUATIONS)[number];

interface Stage {
  readonly plan: Plan;
  readonly heard: Frames;
  readonly hasLayers: boolean;
  readonly passBars: number | null;
}

/** Bars of a song, and passes and presses in them. Position 0 is engine frame ORIGIN. */
export class Bench {
  readonly grid: ProgramGrid;
  readonly #keepLayering: boolean;

  constructor(song: TestSong = {}, keepLayering = false) {
    this.grid = new ProgramGrid(programOf({ sectionBars: 4, ...song }).stretches);
    this.#keepLayering = keepLayering;
  }

  /** The engine frame of a bar, parts of it allowed. */
  at(bar: number): Frames {
    const whole = Math.floor(bar);
    const line = this.grid.lineOf(bars(whole));
    const length = this.grid.lineOf(bars(whole + 1)) - line;
    return frames(ORIGIN + line + Math.round((bar - whole) * length));
  }

  running(...passes: readonly Pass[]): RunningPlan {
    return { type: 'running', startsAt: this.at(-1), origin: frames(ORIGIN), passes };
  }

  /** As the setting makes it; the first is the one over nothing. */
  pass(number: number, start: number, end: number | null, keepsGoing = this.#keepLayering): Pass {
    return {
      number,
      startBar: bars(start),
      endBar: end === null ? null : bars(end),
      over: number > 1,
      keepsGoing,
    };
  }

  context(over: Partial<StepContext> = {}): StepContext {
    return {
      grid: this.grid,
      earliest: frames(50_000_000),
      oldest: frames(0),
      keptUpTo: null,
      hasLayers: true,
      passBars: bars(4),
      loopBars: bars(4),
      graceBeats: 1,
      countIn: bars(1),
      withoutTempo: false,
      keepLayering: this.#keepLayering,
      parts: 1,
      leadFrames: frames(0),
      falseStart: frames(RATE),
      nextPass: 7,
      lastPress: null,
      ...over,
    };
  }

  stage(situation: Situation): Stage {
    const first = (plan: Plan, heard: Frames, passBars: number | null = 4) => ({
      plan,
      heard,
      hasLayers: false,
      passBars,
    });
    const later = (plan: Plan, heard: Frames) => ({ plan, heard, hasLayers: true, passBars: 4 });
    const free = (endsAt: number | null): Plan => ({
      type: 'free',
      startsAt: frames(1_000_000),
      endsAt: endsAt === null ? null : frames(endsAt),
    });
    switch (situation) {
      case 'stopped, nothing recorded':
        return first(STOPPED, frames(40_000), null);
      case 'stopped, layers there':
        return later(STOPPED, frames(40_000));
      case 'counting in, open length':
        return first(this.running(this.pass(1, 0, null)), this.at(-0.5), null);
      case 'counting in, set length':
        return first(this.running(...this.#round(1, 0, 4)), this.at(-0.5));
      case 'waiting for the bar':
        return later(this.running(...this.#round(2, 3, 7)), this.at(2.9));
      case 'playing':
        return later(this.running(), this.at(2.1));
      case 'recording, open length':
        return first(this.running(this.pass(1, 0, null)), this.at(3.9), null);
      case 'recording, set length':
        return first(this.running(...this.#round(1, 0, 4)), this.at(2.9));
      case 'recording, going round':
        return first(this.running(this.pass(1, 0, 4, false), this.pass(2, 4, 8)), this.at(2.9));
      case 'layering':
        return later(this.running(...this.#round(2, 4, 8)), this.at(6.9));
      case 'layering, near the line':
        return later(this.running(...this.#round(2, 4, 8)), this.at(7.6));
      case 'layering, hardly begun':
        return later(this.running(...this.#round(2, 4, 8)), this.at(4.1));
      case 'closed, not captured whole':
        return later(this.running(...this.#round(2, 4, 8)), this.at(8.1));
      case 'playing freely':
        return { plan: free(null), heard: frames(1_480_000), hasLayers: false, passBars: null };
      case 'closed freely':
        return { plan: free(1_480_000), heard: frames(1_500_000), hasLayers: false, passBars: null };
    }
  }

  /** A pass, and where layering is kept up the next one. */
  #round(number: number, start: number, end: number): readonly Pass[] {
    const pass = this.pass(number, start, end);
    return this.#keepLayering ? [pass, this.pass(number + 1, end, 2 * end - start)] : [pass];
  }
}

/** "running 0-4 4-8*: drop 2, begin 7": a star where layering is kept up after a pass. */
export function told({ plan, effects }: Step): string {
  const passes = plan.type === 'running' ? plan.passes.map(nameOfPass) : [];
  const done = effects.map(nameOfEffect).join(', ');
  return [plan.type, ...passes].join(' ') + (done === '' ? '' : `: ${done}`);
}

const nameOfPass = ({ startBar, endBar, keepsGoing }: Pass): string =>
  `${startBar}-${endBar ?? ''}${keepsGoing ? '*' : ''}`;

function nameOfEffect(effect: Step['effects'][number]): string {
  switch (effect.type) {
    case 'begin':
      return `begin ${effect.pass.number}`;
    case 'close':
      return `close ${effect.number} at ${effect.endBar}`;
    case 'cut':
    case 'drop':
      return `${effect.type} ${effect.number}`;
    case 'keep-bars':
      return `keep bars as ${effect.number}, ${effect.leftOut} left out`;
    case 'refuse':
      return `refuse ${effect.why}`;
    default:
      return effect.type;
  }
}
