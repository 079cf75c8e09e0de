/** Time as the rehearsal may know it. */
import type { Milliseconds } from '../core/units/index.js';

export interface Clock {
  /** Monotonic, on the same origin as an event's `timeStamp`. */
  now(): Milliseconds;
  /** The calendar, ISO 8601 in UTC. */
  today(): string;
}
