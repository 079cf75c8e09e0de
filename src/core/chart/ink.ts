/** Ink: a sound as an engraver's reader sees it, onsets as stems and their decay as tapering strokes. */

/** One onset. Positions are parts of the span drawn, 0 … 1; heights are 0 … 1. */
export interface Stroke {
  readonly at: number;
  readonly height: number;
  /** How far the decay reaches, as a part of the span. */
  readonly decay: number;
}

export interface Ink {
  readonly strokes: readonly Stroke[];
  /** Bars that the span covers. */
  readonly bars: number;
}
