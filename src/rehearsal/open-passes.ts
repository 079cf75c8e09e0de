/**
 * Passes that are lined up, under way or still coming in, as far as the page knows them: enough to make something of each
 * when the engine is gone before it could.
 */
import type { ProgramGrid } from '../core/program/program-grid.js';
import type { EngineReport } from '../core/render/commands.js';
import { LONGEST_PASS } from '../core/transport/passes.js';
import type { Pass, Plan } from '../core/transport/plan.js';
import type { Bars, Frames, SampleRate } from '../core/units/index.js';
import { bars, frames } from '../core/units/index.js';
import type { CutPass } from './ideas.js';

type Report<Type extends EngineReport['type']> = Extract<EngineReport, { type: Type }>;
type Begun = Report<'pass-begun'>;

/** What is here of a recording: capture frame of its first, and how many frames have come in. */
export interface Extent {
  readonly at: Frames;
  readonly frames: number;
}

/** What becomes of a pass: what the engine would have reported. */
export type PassEnding =
  | { readonly type: 'layer'; readonly closed: Report<'layer-closed'> }
  | { readonly type: 'idea'; readonly cut: CutPass };

interface Planned {
  readonly pass: Pass;
  readonly origin: number;
}

/** As the engine has it: what was played for less is a false start. */
const FALSE_START_SECONDS = 1;

export class OpenPasses {
  readonly #begun = new Map<number, Begun>();
  readonly #planned = new Map<number, Planned>();

  begun(report: Begun): void {
    this.#begun.set(report.pass, report);
  }

  /** Passes stay known after a stop: they are still coming in. */
  follow(plan: Plan): void {
    if (plan.type !== 'running') return;
    for (const pass of plan.passes) this.#planned.set(pass.number, { pass, origin: plan.origin });
  }

  /** Whether something that was begun is still coming in. */
  get areComingIn(): boolean {
    return this.#begun.size > 0;
  }

  /** The engine has reported what became of it. */
  gone(pass: number): void {
    this.#begun.delete(pass);
    this.#planned.delete(pass);
  }

  /**
   * The engine is gone: what came in of every pass, in order. An open first pass is as long as the whole bars that are
   * here; one whose body is here whole is a layer; anything else that was played is an idea.
   */
  endings(grid: ProgramGrid, rate: SampleRate, extentOf: (audio: number) => Extent | undefined): readonly PassEnding[] {
    return [...this.#begun.values()].flatMap((begun): PassEnding[] => {
      const extent = extentOf(begun.audio);
      const planned = this.#planned.get(begun.pass);
      if (extent === undefined) return [];
      const starts = planned === undefined ? begun.at : planned.origin + grid.lineOf(planned.pass.startBar);
      const bodyStart = starts + begun.roundTrip.frames - extent.at;
      const cameIn = extent.frames - bodyStart;
      const length = planned === undefined ? null : wholeBars(planned.pass, grid, cameIn);
      if (planned !== undefined && length !== null) {
        return [{ type: 'layer', closed: closedAs(begun, planned, length, bodyStart, grid) }];
      }
      if (cameIn < FALSE_START_SECONDS * rate) return [];
      const { audio, channels } = begun;
      const cut = { audio, channels, bodyStart: frames(bodyStart), bodyFrames: frames(cameIn) };
      return [{ type: 'idea', cut }];
    });
  }
}

/** Bars of the layer that a pass is with so much of its body; null where it is none. */
function wholeBars({ startBar, endBar, over }: Pass, grid: ProgramGrid, cameIn: number): Bars | null {
  const framesOf = (length: number): number => grid.lineOf(bars(startBar + length)) - grid.lineOf(startBar);
  if (endBar !== null) return framesOf(endBar - startBar) <= cameIn ? bars(endBar - startBar) : null;
  if (over) return null;
  let length = 0;
  while (length < LONGEST_PASS && framesOf(length + 1) <= cameIn) length++;
  return length === 0 ? null : bars(length);
}

function closedAs(
  { pass: number, audio, channels, replaces, roundTrip }: Begun,
  { pass, origin }: Planned,
  length: Bars,
  bodyStart: number,
  grid: ProgramGrid,
): Report<'layer-closed'> {
  const opens = grid.lineOf(pass.startBar);
  const closes = grid.lineOf(bars(pass.startBar + length));
  return {
    type: 'layer-closed',
    at: frames(origin + closes),
    pass: number,
    audio,
    channels,
    replaces,
    bodyStart: frames(bodyStart),
    bodyFrames: frames(closes - opens),
    startBar: pass.startBar,
    bars: length,
    roundTrip,
  };
}
