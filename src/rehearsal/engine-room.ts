/**
 * What is needed only once sound is open: it is loaded then, so that the page shows, and a tempo can be tapped, without
 * it. The round trip, what becomes a part of the song after it was played, and what listens.
 */
import type { AfterTheFactPorts } from './after-the-fact.js';
import { AfterTheFact } from './after-the-fact.js';
import type { RoundTripsPorts } from './round-trips.js';
import { RoundTrips } from './round-trips.js';

export { hearSeam } from '../core/seam/hear.js';
export { Openings } from './openings.js';

export class EngineRoom {
  readonly trips: RoundTrips;
  readonly after: AfterTheFact;

  constructor(trips: RoundTripsPorts, after: AfterTheFactPorts) {
    this.trips = new RoundTrips(trips);
    this.after = new AfterTheFact(after);
  }
}
