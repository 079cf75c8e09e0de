/**
 * `<mh-chart>`: a section as a score: its bars wrapped into systems, with the metre at the head of the first.
 *
 * Properties: `bars`, as drawn; `room`, the height it may fill without scrolling; `closed`, whether the length is decided;
 * `writing`, whether something is being recorded; `staves`; `metre`, `mark`, `held`; `marks`, where layers moved, or null.
 * Methods: `point(position, calm)`, once a frame: moves the baton point, the bracket and the pen tip.
 * Events: `mh-ask` of what it holds.
 */
import { css, html, LitElement, type PropertyValues, type TemplateResult } from 'lit';
import { customElement, property, state } from 'lit/decorators.js';
import { layOut, placeOf, type SystemLine } from '../../core/chart/system-layout.js';
import type { Metre, NoteValue } from '../../core/meter/metre.js';
import { feltBeats } from '../../core/meter/metres.js';
import type { Position } from '../../rehearsal/snapshot.js';
import { base } from '../styles/shared.js';
import { BAR, FIRST_HEAD, isNarrow, LATER_HEAD, metricsFor, sidesFor, type Metrics, type Stave } from './stave.js';
import type { SystemElement } from './system.js';
import type { MarksInSection } from './trip-marks.js';
import './metre.js';
import './system.js';

@customElement('mh-chart')
export class ChartElement extends LitElement {
  static override readonly styles = [
    base,
    css`
      :host {
        position: relative;
        display: block;
      }

      mh-metre {
        position: absolute;
        z-index: 2;
        transform: translateY(-50%);
      }
    `,
  ];

  @property({ type: Number }) bars = 4;
  @property({ type: Number }) room = 400;
  @property({ type: Boolean }) closed = false;
  @property({ type: Boolean }) writing = false;
  @property({ attribute: false }) staves: readonly Stave[] = [];
  @property({ attribute: false }) metre: Metre = { num: 4, den: 4, groups: [1, 1, 1, 1] };
  @property({ attribute: false }) mark: NoteValue = { num: 1, den: 4 };
  @property({ type: Boolean }) held = false;
  @property({ attribute: false }) marks: MarksInSection | null = null;
  @state() private width = 1200;
  #metrics: Metrics | null = null;
  #lines: readonly SystemLine[] = [];
  #lineInHand = -1;
  readonly #observer = new ResizeObserver(([entry]) => {
    if (entry && entry.contentRect.width > 0) this.width = entry.contentRect.width;
  });

  /** `calm` steps from beat to beat where the player wants less to move. */
  point(position: Position, calm: boolean): void {
    const { bar } = position;
    const beat = feltBeats(this.metre)[position.beat];
    const phase = calm && beat ? beat.start / this.metre.num : position.barPhase;
    const place = bar === null ? null : placeOf(this.#lines, bar, phase);
    this.renderRoot.querySelectorAll('mh-system').forEach((system, i) => {
      const line = this.#lines[i];
      if (place?.line !== i || bar === null || line === undefined) {
        system.point(null);
        return;
      }
      const hop = calm ? 0 : 4 * position.beatPhase * (1 - position.beatPhase);
      const barX = line.head + (bar - line.firstBar) * line.barWidth;
      system.point({ x: place.x, hop, barX: barX + 4, barWidth: line.barWidth - 8, pen: this.writing });
      if (this.#lineInHand !== i) this.#follow(system, i, calm);
    });
    if (place === null) this.#lineInHand = -1;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.#observer.observe(this);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#observer.disconnect();
  }

  override willUpdate(changed: PropertyValues): void {
    super.willUpdate(changed);
    const { names, margin } = sidesFor(this.width);
    const bar = isNarrow(this.width) ? BAR.narrow : BAR.wide;
    const lines = layOut({
      bars: this.bars,
      width: this.width - names - margin,
      firstHead: FIRST_HEAD,
      laterHead: LATER_HEAD,
      leastBar: bar.least,
      lead: bar.lead,
    });
    const metrics = metricsFor({
      width: this.width,
      height: this.room,
      staves: this.staves.length,
      lines: lines.length,
    });
    // What stays as it was keeps its identity, so that nothing on it is drawn again.
    if (JSON.stringify(lines) !== JSON.stringify(this.#lines)) this.#lines = lines;
    if (JSON.stringify(metrics) !== JSON.stringify(this.#metrics)) this.#metrics = metrics;
    if (changed.has('marks') && this.marks !== null) void import('./trip-marks.js');
  }

  override render(): TemplateResult {
    return html`
      <mh-metre .metre=${this.metre} .mark=${this.mark} .held=${this.held}></mh-metre>
      ${this.#lines.map(
        (line, i) =>
          html`<mh-system
            .line=${line}
            .staves=${this.staves}
            .metrics=${this.#metrics}
            .sectionBars=${this.bars}
            .opens=${this.closed && i === 0}
            .closes=${this.closed}
            .ends=${i === this.#lines.length - 1}
            .leads=${i === 0}
            .marks=${this.marks}
          ></mh-system>`,
      )}
    `;
  }

  override updated(changed: PropertyValues): void {
    super.updated(changed);
    const metre = this.renderRoot.querySelector('mh-metre');
    if (!metre || !this.#metrics) return;
    const { top, pitch, names } = this.#metrics;
    metre.style.setProperty('left', `${names + 8}px`);
    metre.style.setProperty('top', `${top + (this.staves.length * pitch) / 2}px`);
  }

  /** Brings the line being played into view, once, when it is reached; a score higher than the window stays where it is. */
  #follow(system: SystemElement, line: number, calm: boolean): void {
    const moved = this.#lineInHand !== -1 && this.#lines.length > 1;
    this.#lineInHand = line;
    if (!moved || system.offsetHeight > window.innerHeight / 2) return;
    system.scrollIntoView({ block: 'nearest', behavior: calm ? 'auto' : 'smooth' });
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-chart': ChartElement;
  }
}
