/**
 * `<mh-trip-marks>`: the marks over the bars of one line of a system, each at the head of its bar in the stave of its layer.
 * It lies over the system and takes no room.
 *
 * Properties: `marks`; and, as of the system, `line`, `staves`, `metrics`.
 * Events: those of `<mh-trip-mark>`.
 */
import { css, html, LitElement, nothing, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { repeat } from 'lit/directives/repeat.js';
import type { SystemLine } from '../../core/chart/system-layout.js';
import type { LayerId } from '../../core/song/ids.js';
import type { SampleRate } from '../../core/units/index.js';
import type { DrawnMark } from '../../rehearsal/realigning.js';
import type { MeasuringOrder } from '../../rehearsal/round-trip-view.js';
import { base } from '../styles/shared.js';
import type { Metrics, Stave } from './stave.js';
import './trip-mark.js';

export interface LayerMark extends DrawnMark {
  readonly layer: LayerId;
}

/** All marks of a section, and what is needed to say what they are. */
export interface MarksInSection {
  readonly marks: readonly LayerMark[];
  readonly rate: SampleRate;
  /** How a check is made here. */
  readonly way: MeasuringOrder['way'];
}

/** A second mark over the same bar stands beside the first. */
const BESIDE = 22;
const UP = 8;

@customElement('mh-trip-marks')
export class TripMarksElement extends LitElement {
  static override readonly styles = [
    base,
    css`
      mh-trip-mark {
        position: absolute;
        z-index: 1;
      }

      mh-trip-mark:focus-within {
        z-index: 4;
      }
    `,
  ];

  @property({ attribute: false }) marks: MarksInSection | null = null;
  @property({ attribute: false }) line: SystemLine | null = null;
  @property({ attribute: false }) staves: readonly Stave[] = [];
  @property({ attribute: false }) metrics: Metrics | null = null;

  override render(): TemplateResult | typeof nothing {
    const { marks } = this;
    if (marks === null) return nothing;
    return html`${repeat(
      this.#here(),
      ({ layer, mark }) => `${layer} ${mark.bar} ${mark.kind}`,
      ({ layer, mark, bar, round, name }) =>
        html`<mh-trip-mark
          .mark=${mark}
          .bar=${bar}
          .round=${round}
          .layer=${layer}
          .layerName=${name}
          .rate=${marks.rate}
          .way=${marks.way}
        ></mh-trip-mark>`,
    )}`;
  }

  override updated(changed: PropertyValues): void {
    super.updated(changed);
    const { line, metrics } = this;
    if (line === null || metrics === null) return;
    const here = this.#here();
    this.renderRoot.querySelectorAll('mh-trip-mark').forEach((element, i) => {
      const placed = here[i];
      if (placed === undefined) return;
      const before = here.slice(0, i).filter(({ row, bar }) => row === placed.row && bar === placed.bar);
      const x = metrics.names + line.head + (placed.bar - line.firstBar) * line.barWidth;
      element.style.left = `${x - 12 + before.length * BESIDE}px`;
      element.style.top = `${metrics.top + placed.row * metrics.pitch - UP}px`;
    });
  }

  /** Those of this line, by stave and bar. */
  #here(): readonly (LayerMark & { readonly row: number; readonly name: string })[] {
    const { line, marks } = this;
    if (line === null || marks === null) return [];
    return this.staves.flatMap(({ layer, name }, row) =>
      marks.marks
        .filter(({ bar }) => bar >= line.firstBar && bar < line.firstBar + line.bars)
        .filter((each) => each.layer === layer)
        .map((each) => ({ ...each, row, name }))
        .sort((a, b) => a.bar - b.bar || a.round - b.round),
    );
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-trip-marks': TripMarksElement;
  }
}
