/**
 * What comes in, by one of two ways, into the one ring. The engine's own input numbers its frames by itself. Frames that
 * were counted elsewhere get their numbers when the sound is opened: such that both ways agree, so that the round trip
 * is much the same whichever is used; where the input is silent and cannot be compared, such that they come in time.
 * Audio thread; allocates when the other way is taken.
 */
import type { SampleRate } from '../units/index.js';
import { frames } from '../units/index.js';
import type { EngineObservation } from './observations.js';
import { PathCompare } from './path-compare.js';
import type { InputRing } from './ring.js';

/** Until both ways must have been found to agree: time for two searches. */
const SETTLE_SECONDS = 1;

export class Intake {
  readonly #ring: InputRing;
  readonly #settleFrames: number;
  readonly #observe: (observation: EngineObservation) => void;
  #compare: PathCompare | null = null;
  /** Capture frame less the frame as it was counted; NaN until one has come. */
  #offset = NaN;
  /** Engine frame at which the first came; NaN once the numbers stand. */
  #settlesFrom = NaN;
  /** The least by which the newest frame lay behind the engine when it came. */
  #leastLag = Infinity;

  constructor(ring: InputRing, rate: SampleRate, observe: (observation: EngineObservation) => void) {
    this.#ring = ring;
    this.#settleFrames = Math.round(SETTLE_SECONDS * rate);
    this.#observe = observe;
  }

  /** Whether frames that were counted elsewhere are recorded, rather than the engine's own input. */
  get isCounted(): boolean {
    return this.#compare !== null;
  }

  /** From now on only counted frames are recorded. Before anything is. */
  useCounted(): void {
    this.#compare ??= new PathCompare(this.#ring);
  }

  /** A block of the own input, from an engine frame on. */
  takeOwn(input: readonly Float32Array[], at: number, count: number): void {
    this.#ring.expect(at + count);
    const compare = this.#compare;
    if (compare === null) {
      this.#ring.write(at, input, count);
      return;
    }
    compare.push(input, at, count);
    const shift = compare.advance();
    if (shift !== null) this.#observe({ type: 'path-shift', ...shift });
    if (!Number.isNaN(this.#settlesFrom)) this.#settle(compare, at + count);
  }

  /**
   * Frames that were counted elsewhere, while the engine stands at `rendered`.
   * @returns how many were left out since the last.
   */
  takeCounted(input: readonly Float32Array[], frame: number, count: number, rendered: number): number {
    if (this.#compare === null) return 0;
    if (Number.isNaN(this.#offset)) {
      this.#offset = rendered - frame - count;
      this.#settlesFrom = rendered;
      this.#ring.restart(frame + this.#offset);
    }
    const at = frame + this.#offset;
    this.#leastLag = Math.min(this.#leastLag, rendered - at - count);
    return this.#ring.write(at, input, count);
  }

  #settle(compare: PathCompare, rendered: number): void {
    const agreed = compare.shift !== null;
    if (!agreed && rendered < this.#settlesFrom + this.#settleFrames) return;
    const by = compare.shift ?? this.#leastLag;
    this.#settlesFrom = NaN;
    this.#offset += by;
    this.#ring.renumber(by);
    compare.renumbered(by);
    this.#observe({ type: 'capture-settled', at: frames(rendered), agreed });
  }
}
