/**
 * The wire between page and audio thread. Commands and reports are the engine's own (core/render/commands); the wire
 * adds how a processor is set up, its name, and the clock. One function in sound and one in worklet touch the port.
 */
import type { EngineSetup } from '../core/render/engine.js';
import type { EngineCommand, EngineReport } from '../core/render/commands.js';
import type { Peaks } from '../core/render/meters.js';
import type { EngineObservation } from '../core/render/observations.js';
import type { ZeroRun } from '../core/watch/observations.js';

/** Name under which the processor is registered. */
export const PROCESSOR_NAME = 'manyhand-engine';

/** `processorOptions` of the node. */
export interface ProcessorSetup extends EngineSetup {
  /** The context's base latency: how long the output is processed ahead in one go. */
  readonly baseLatencySeconds: number;
}

export type ToEngine =
  | { readonly type: 'command'; readonly command: EngineCommand }
  /** With one port: what is recorded comes from there, in counted pieces (protocol/counted). */
  | { readonly type: 'use-counted' }
  | { readonly type: 'close' };

/** A pause between two calls of the processor that was longer than it should be: the output may have had a gap. */
export interface CallGap {
  /** Engine frame of the block after it. */
  readonly at: number;
  /** By the system clock, whose ticks are milliseconds. */
  readonly milliseconds: number;
  /** System clock, ms: when the call after it came. */
  readonly endedAt: number;
}

/** How late the calls come, read at those that begin a burst: the system clock against the engine's frames. */
export interface CallPhase {
  /** System clock, ms: the last of those calls. */
  readonly at: number;
  /** System time in frames less the engine's frame, the mean of those calls; up to a constant that holds since opening. */
  readonly behind: number;
}

/** Faults reported since opening, by kind. */
export type FaultCounts = Readonly<Record<Extract<EngineReport, { type: 'fault' }>['kind'], number>>;

/**
 * Where the processor stands: its own count of frames, and how far the context's clock is ahead of it. The context's
 * `currentFrame` freezes for some blocks now and then, so the offset is the greatest of the last blocks.
 */
export interface ClockReading {
  readonly type: 'clock';
  readonly rendered: number;
  /** Context frame minus engine frame. */
  readonly contextAhead: number;
  /** Since the last reading. */
  readonly peaks: Peaks;
  /** Part of the time that the audio thread needed lately: an estimate. Null in the first two seconds. */
  readonly load: number | null;
  /** Gaps since the last reading, every one. */
  readonly gaps: readonly CallGap[];
  /** Gaps since opening; those within 300 ms of the one before are counted as one. */
  readonly gapCount: number;
  readonly faults: FaultCounts;
  /** Capture frame after the newest that is here. */
  readonly captured: number;
  /** Runs of zeros in the processor's own input that have ended since the last reading. */
  readonly zeros: readonly ZeroRun[];
  /** Null where no burst of calls has begun since the last reading. */
  readonly phase: CallPhase | null;
}

/** The first message: the engine stands. */
export interface ReadyReading {
  readonly type: 'ready';
  readonly lookAhead: number;
}

export type FromEngine =
  | { readonly type: 'report'; readonly report: EngineReport }
  | ClockReading
  | ReadyReading
  | { readonly type: 'observed'; readonly observation: EngineObservation }
  | { readonly type: 'failed'; readonly message: string };

/** The buffers of a command that cross by transfer. */
export function transfersOfCommand(command: EngineCommand): ArrayBuffer[] {
  switch (command.type) {
    case 'supply':
      return [command.samples.buffer];
    case 'supply-slab':
      return [command.slab.buffer];
    case 'return-buffer':
      return [command.buffer.buffer];
    case 'send-probe':
      return [command.samples.buffer, command.heard.buffer];
    case 'set-reference':
      return command.samples === null ? [] : [command.samples.buffer];
    case 'use-program':
    case 'stand-by': {
      const { voices, strips, stretches, curves } = command.program;
      return [voices.buffer, strips.buffer, stretches.buffer, curves.buffer];
    }
    case 'drop-probe':
    case 'set-rules':
    case 'set-round-trip':
    case 'set-click':
    case 'set-opening':
    case 'set-level':
    case 'set-monitor':
    case 'set-routing':
    case 'press':
    case 'play':
    case 'stop':
    case 'take-back':
    case 'keep-that':
    case 'join':
    case 'end-standstill':
    case 'go':
    case 'audio-stored':
      return [];
    default:
      return command satisfies never;
  }
}

/** The buffers of a report that cross by transfer. */
export const transfersOfReport = (report: EngineReport): ArrayBuffer[] =>
  report.type === 'captured' || report.type === 'probe-heard' ? [report.buffer.buffer] : [];
