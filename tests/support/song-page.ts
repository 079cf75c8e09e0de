/**
 * The page of a performance, as little of it as the engine needs: it keeps the layers of a section, makes a layer of every
 * pass that closes, and sends programs, whenever a test says so.
 */
import type { EngineReport } from '../../src/core/render/commands.js';
import type { Program } from '../../src/core/program/program.js';
import type { Performance } from './performance.js';
import type { RowGrid, RowVoice } from './row-programs.js';
import { crossfaded, rowProgram } from './row-programs.js';

type Closed = Extract<EngineReport, { type: 'layer-closed' }>;

/** A layer and the take in use of it; frames of the recording, bars of the section. */
export interface PageLayer {
  readonly voice: number;
  readonly audio: number;
  readonly channel: number;
  readonly bodyStart: number;
  readonly bodyFrames: number;
  readonly bars: number;
  /** The bar of the loop at which the take begins; less than `bars`. */
  readonly startBar: number;
  readonly left: number;
  readonly right: number;
  readonly leftOut: boolean;
}

export class SongPage {
  readonly grid: RowGrid;
  layers: PageLayer[] = [];
  /** What the engine was told last. */
  sent: Program | null = null;
  readonly #performance: Performance;
  #revision = 0;
  #passesKnown = 0;

  constructor(performance: Performance, grid: RowGrid) {
    this.#performance = performance;
    this.grid = grid;
  }

  /** Makes a layer of every channel of a pass, or new takes of the layer that it replaces. Nothing is sent. */
  take(closed: Closed): readonly PageLayer[] {
    const made = closed.channels.map((channel, part) => ({
      voice: closed.pass + part,
      audio: closed.audio,
      channel,
      bodyStart: closed.bodyStart,
      bodyFrames: closed.bodyFrames,
      bars: closed.bars,
      startBar: closed.startBar % closed.bars,
      left: 1,
      right: 1,
      leftOut: false,
    }));
    this.layers = [...this.layers.filter((layer) => layer.voice !== closed.replaces), ...made];
    this.#passesKnown = Math.max(this.#passesKnown, closed.pass + made.length - 1);
    return made;
  }

  /** Sends the layers as they are. */
  send(): void {
    this.sent = this.program();
    this.#performance.useProgram(this.sent);
  }

  /** A program of the layers as they are, with a crossfade of 10 ms at every seam, as the engine itself makes it. */
  program(): Program {
    this.#revision++;
    const voices = this.layers.map((layer) => voiceOf(layer, this.grid));
    return rowProgram({ grid: this.grid, voices, revision: this.#revision, passesKnown: this.#passesKnown });
  }
}

/** Phase counts from line 0: what was begun at bar 2 of its four is under way at the top. */
export function voiceOf(layer: PageLayer, grid: RowGrid): RowVoice {
  const { voice, audio, channel, bodyStart, bodyFrames, bars, startBar, leftOut } = layer;
  const seam = crossfaded(Math.min(Math.round(grid.rate / 100), bodyStart), 0);
  return {
    id: voice,
    audio,
    channel,
    bodyStart,
    bodyFrames,
    start: startBar === 0 ? 0 : (startBar - bars) * grid.barFrames,
    left: leftOut ? 0 : layer.left,
    right: leftOut ? 0 : layer.right,
    ...seam,
  };
}
