/** Readings of the audio thread's clock, as signs for a watch over the round trip. */
import { frames, milliseconds } from '../core/units/index.js';
import type { SoundObservation } from '../ports/sound.js';
import type { ClockReading } from '../protocol/wire.js';

/** The audio thread was not called for so long: the machine slept. A busy one is never so late. */
const SLEPT_MS = 2000;

export class Observing {
  #lead: number | null = null;

  /** @param systemAhead the system clock less the performance clock, ms: now. */
  of(reading: ClockReading, systemAhead: number): readonly SoundObservation[] {
    const { rendered, contextAhead, captured, gaps, zeros, phase } = reading;
    const seen: SoundObservation[] = gaps.map((gap) => ({
      type: 'call-pause',
      at: frames(gap.at),
      milliseconds: milliseconds(gap.milliseconds),
      endedAt: milliseconds(gap.endedAt - systemAhead),
    }));
    if (gaps.some((gap) => gap.milliseconds > SLEPT_MS)) {
      seen.push({ type: 'break', kind: 'clock-jumped', at: frames(captured) });
    }
    if (contextAhead !== this.#lead) {
      seen.push({ type: 'context-lead', at: frames(rendered), frames: frames(contextAhead) });
    }
    this.#lead = contextAhead;
    seen.push(...zeros);
    if (phase !== null) {
      seen.push({ type: 'call-phase', at: milliseconds(phase.at - systemAhead), behind: phase.behind });
    }
    return seen;
  }
}
