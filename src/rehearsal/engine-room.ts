/**
 * What is needed only once sound is open: it is loaded then, so that the page shows, and a tempo can be tapped, without
 * it. The sessions with engines, the round trip, what becomes a part of the song after it was played, and what listens.
 */
import type { AfterTheFactPorts } from './after-the-fact.js';
import type { Song } from '../core/song/song.js';
import { AfterTheFact } from './after-the-fact.js';
import type { SessionPorts } from './engine-session.js';
import { EngineSession } from './engine-session.js';
import type { RoundTripsPorts } from './round-trips.js';
import { RoundTrips } from './round-trips.js';

export { hearSeam } from '../core/seam/hear.js';

export class EngineRoom {
  readonly trips: RoundTrips;
  readonly after: AfterTheFact;

  constructor(trips: RoundTripsPorts, after: AfterTheFactPorts) {
    this.trips = new RoundTrips(trips);
    this.after = new AfterTheFact(after);
  }

  /** Of one opening of the sound. */
  sessionWith(ports: SessionPorts, song: Song): EngineSession {
    return new EngineSession(ports, song);
  }
}
