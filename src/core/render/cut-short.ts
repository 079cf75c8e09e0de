/**
 * What was being recorded when playing stopped, up to there: no layer, but kept. Told of once it has come in; until then it
 * can be taken back. Audio thread; allocates while a command is handled, and one report for each.
 */
import type { Frames } from '../units/index.js';
import { frames } from '../units/index.js';
import type { EngineReport } from './commands.js';
import type { Hold, Holds } from './holds.js';
import type { Recorder } from './recorder.js';

export interface CutPart {
  /** Number of its pass; 0 where it had no tempo. */
  readonly pass: number;
  readonly channels: readonly number[];
  readonly hold: Hold;
  /** First frame of its body in the recording, and how many there are. */
  readonly bodyStart: number;
  readonly bodyFrames: number;
  /** Capture frame after its last. */
  readonly ends: number;
}

export class CutShort {
  readonly #recorder: Recorder;
  readonly #holds: Holds;
  readonly #report: (report: EngineReport) => void;
  #parts: CutPart[] = [];

  constructor(recorder: Recorder, holds: Holds, report: (report: EngineReport) => void) {
    this.#recorder = recorder;
    this.#holds = holds;
    this.#report = report;
  }

  add(part: CutPart): void {
    this.#holds.need(part.hold, part.ends);
    this.#parts.push(part);
  }

  /** @returns whether there was one that is still coming in. */
  dropNewest(at: number, heard: Frames): boolean {
    const part = this.#parts.pop();
    if (part === undefined) return false;
    this.#holds.letGo(part.hold, at);
    this.#report({ type: 'pass-dropped', at: frames(at), pass: part.pass, heard });
    return true;
  }

  /** Reports what has come in and gone to the page whole. @param captured the capture frame after the newest. */
  takeCaptured(captured: number): void {
    for (let i = this.#parts.length - 1; i >= 0; i--) {
      const part = this.#parts[i];
      if (part === undefined || captured < part.ends) continue;
      const { pass, channels, hold, bodyStart, bodyFrames, ends } = part;
      if (!this.#recorder.sendUpTo(hold.audio, ends)) continue;
      this.#parts.splice(i, 1);
      this.#report({
        type: 'pass-cut',
        at: frames(ends),
        pass,
        audio: hold.audio,
        channels,
        bodyStart: frames(bodyStart),
        bodyFrames: frames(bodyFrames),
      });
    }
  }
}
