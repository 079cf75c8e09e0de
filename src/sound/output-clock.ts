/** Reads which frame leaves the output at which moment. */
import type { OutputReading } from './press-clock.js';

/** Between two readings, ms: 40 a second. */
const EVERY_MS = 25;

export function readOutput(context: AudioContext): OutputReading {
  const { contextTime, performanceTime } = context.getOutputTimestamp();
  if (contextTime !== undefined && performanceTime !== undefined && performanceTime > 0) {
    return { contextSeconds: contextTime, performanceMs: performanceTime };
  }
  // Where the browser answers nothing yet: what is being rendered, less the output latency.
  return { contextSeconds: context.currentTime - context.outputLatency, performanceMs: performance.now() };
}

/**
 * Reads it from now on; the browser renews its answer less often than it is asked, and what is not new is left out.
 * @returns a function that ends it.
 */
export function keepReading(
  context: AudioContext,
  take: (reading: OutputReading) => void,
  tick: () => void,
): () => void {
  let last = NaN;
  const timer = setInterval(() => {
    tick();
    const reading = readOutput(context);
    if (reading.performanceMs === last) return;
    last = reading.performanceMs;
    take(reading);
  }, EVERY_MS);
  return () => {
    clearInterval(timer);
  };
}
