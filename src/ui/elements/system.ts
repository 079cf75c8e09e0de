/**
 * `<mh-system>`: one line of bars: bracket, bar lines, a stave for each layer, and the names beside them. What moves (the
 * baton point, the bracket under the bar, the pen tip) lies over it and is moved without drawing anything again.
 *
 * Properties: `line`; `staves`; `metrics`; `sectionBars`, as drawn; `opens` and `closes`, where the repeat signs stand;
 * `leads`, whether this is the first line, whose names and margins can be changed; `marks` over bars of layers, or null.
 * Methods: `point(pointing)`, once a frame.
 * Events: `mh-ask` with `rename-layer`, and those of the margins and marks.
 */
import { html, LitElement, nothing, svg, type PropertyValues, type SVGTemplateResult, type TemplateResult } from 'lit';
import { customElement, property, query } from 'lit/decorators.js';
import { guard } from 'lit/directives/guard.js';
import { attacksIn, inkPath } from '../../core/chart/ink-path.js';
import type { SystemLine } from '../../core/chart/system-layout.js';
import { AskEvent } from '../asks.js';
import { bracket, closingSign, openEnd, openingSign } from '../engraving/bar-lines.js';
import { wholeRest } from '../engraving/signs.js';
import { inkWords, LABELS } from '../words.js';
import type { NameEvent } from './name.js';
import { isLayer, LINE_UP, type LayerStave, type Metrics, type Stave } from './stave.js';
import { systemStyles } from './system-styles.js';
import type { MarksInSection } from './trip-marks.js';
import './margin.js';
import './name.js';

/** Where the moving things are on this line. */
export interface Pointing {
  /** Of the baton, from the line's left edge. */
  readonly x: number;
  /** Of the baton over its lane: 0 at a beat, 1 half way to the next. */
  readonly hop: number;
  readonly barX: number;
  readonly barWidth: number;
  /** Whether a pen is writing. */
  readonly pen: boolean;
}

const HOP = 9;

@customElement('mh-system')
export class SystemElement extends LitElement {
  static override readonly styles = systemStyles;

  @property({ attribute: false }) line: SystemLine = { firstBar: 0, bars: 1, head: 0, barWidth: 0, lead: 0, width: 0 };
  @property({ attribute: false }) staves: readonly Stave[] = [];
  @property({ attribute: false }) metrics: Metrics | null = null;
  @property({ type: Number }) sectionBars = 4;
  @property({ type: Boolean }) opens = false;
  @property({ type: Boolean }) closes = false;
  @property({ type: Boolean }) ends = false;
  @property({ type: Boolean }) leads = false;
  @property({ attribute: false }) marks: MarksInSection | null = null;
  @query('.baton') private readonly baton!: HTMLElement | null;
  @query('.bar-in-hand') private readonly bar!: HTMLElement | null;
  @query('.pen') private readonly pen!: HTMLElement | null;

  /** Moves what moves; null hides it. Draws nothing. */
  point(pointing: Pointing | null): void {
    for (const moving of [this.baton, this.bar, this.pen]) if (moving) moving.hidden = pointing === null;
    if (pointing === null || !this.baton || !this.bar || !this.pen) return;
    this.baton.style.transform = `translate(${pointing.x}px, ${-HOP * pointing.hop}px)`;
    this.bar.style.transform = `translateX(${pointing.barX}px)`;
    this.bar.style.width = `${pointing.barWidth}px`;
    this.pen.hidden = !pointing.pen;
    this.pen.style.transform = `translateX(${pointing.x}px)`;
  }

  override render(): TemplateResult | typeof nothing {
    const { metrics, line } = this;
    if (metrics === null) return nothing;
    const height = metrics.top + this.staves.length * metrics.pitch + metrics.foot;
    return html`
      <svg class="music" width=${Math.ceil(line.width) + 2} height=${height} aria-hidden="true">
        ${this.#frame(metrics)} ${this.staves.map((stave, i) => this.#stave(stave, i, metrics))}
      </svg>
      <div class="moving" aria-hidden="true">
        <div class="baton" hidden></div>
        <div class="bar-in-hand" hidden></div>
        <div class="pen" hidden>
          <svg width="14" height="26"><path d="M1 25L6.5 4l4 1.200L4.5 23z" /></svg>
        </div>
      </div>
      ${this.leads ? this.#names() : this.#namesAgain()} ${this.marks === null ? nothing : this.#marks(this.marks)}
    `;
  }

  override updated(changed: PropertyValues): void {
    super.updated(changed);
    const { metrics } = this;
    if (metrics === null) return;
    const { names, margin, pitch, top, foot } = metrics;
    const lengths = { head: this.line.head, names, margin, pitch, top, foot, rows: this.staves.length * pitch };
    for (const [name, px] of Object.entries(lengths)) this.style.setProperty(`--system-${name}`, `${px}px`);
    this.toggleAttribute('narrow', metrics.narrow);
  }

  #frame(metrics: Metrics): SVGTemplateResult {
    const { line } = this;
    const from = metrics.top;
    const to = metrics.top + this.staves.length * metrics.pitch;
    const rows = this.staves.map((_, i) => this.#baseline(i, metrics));
    const numbers = Array.from({ length: line.bars }, (_, i) => i);
    const inner = numbers.slice(1).map((bar) => line.head + bar * line.barWidth);
    return svg`
      ${bracket(from, to)}
      <path class="thin" d="M0 ${from}V${to}" />
      ${inner.map((x) => svg`<path class="thin" d="M${x} ${from}V${to}" />`)}
      ${this.opens ? openingSign(line.head - 12, from, to, rows) : nothing}
      ${this.ends ? (this.closes ? closingSign(line.width, from, to, rows) : openEnd(line.width, rows)) : svg`<path class="thin" d="M${line.width} ${from}V${to}" />`}
      ${numbers.map((bar) => svg`<text class="number" x=${line.head + bar * line.barWidth + 3} y=${from - 7}>${line.firstBar + bar + 1}</text>`)}
      ${this.ends && this.closes ? svg`<text class="number" x=${line.width + 2} y=${from - 7} text-anchor="end">${LABELS.openRepeat}</text>` : nothing}
    `;
  }

  #stave(stave: Stave, index: number, metrics: Metrics): SVGTemplateResult {
    const { line, sectionBars } = this;
    const y = this.#baseline(index, metrics);
    return svg`
      <path class="stave" d="M0 ${y}H${line.width}" />
      ${
        stave.leftOut
          ? Array.from({ length: line.bars }, (_, bar) =>
              wholeRest(line.head + (bar + 0.5) * line.barWidth, y - metrics.ink * 0.6),
            )
          : svg`<path class=${stave.live ? 'ink live' : 'ink'} d=${guard(
              [stave.ink, line, sectionBars, y, metrics.ink],
              () => this.#ink(stave, y, metrics.ink),
            )} />`
      }`;
  }

  #ink({ ink, live }: Stave, baseline: number, height: number): string {
    if (ink === null) return '';
    return inkPath(ink, { line: this.line, sectionBars: live ? ink.bars : this.sectionBars, baseline, height });
  }

  #baseline(index: number, metrics: Metrics): number {
    return metrics.top + (index + 1) * metrics.pitch - LINE_UP;
  }

  #names(): TemplateResult {
    return html`<ul class="names" aria-label=${LABELS.layers}>
      ${this.staves.map((stave) => html`<li>${isLayer(stave) ? this.#layer(stave) : this.#partInHand(stave)}</li>`)}
    </ul>`;
  }

  #layer(stave: LayerStave): TemplateResult {
    return html`
      <mh-name
        class=${nameClass(stave)}
        .value=${stave.name}
        .label=${LABELS.layerName}
        .hint=${LABELS.rename}
        @mh-name=${(event: NameEvent) =>
          this.dispatchEvent(new AskEvent({ type: 'rename-layer', layer: stave.layer, name: event.text }))}
      ></mh-name>
      <span class="spoken">${this.#inWords(stave)}</span>
      <mh-margin .stave=${stave}></mh-margin>
    `;
  }

  #partInHand(stave: Stave): TemplateResult {
    return html`<span class=${nameClass(stave)}>${stave.name}</span>
      ${stave.live ? html`<span class="spoken">${this.#inWords(stave)}</span>` : nothing}`;
  }

  #inWords(stave: Stave): string {
    const bars = stave.live ? (stave.ink?.bars ?? this.sectionBars) : this.sectionBars;
    return inkWords({ ...stave, bars, attacks: stave.ink === null ? null : attacksIn(stave.ink, bars) });
  }

  #marks(marks: MarksInSection): TemplateResult {
    return html`<mh-trip-marks
      .marks=${marks}
      .line=${this.line}
      .staves=${this.staves}
      .metrics=${this.metrics}
    ></mh-trip-marks>`;
  }

  /** Later lines carry the names for the eye alone. */
  #namesAgain(): TemplateResult {
    return html`<div class="names" aria-hidden="true">
      ${this.staves.map(
        (stave) =>
          html`<div class="row">
            <span class=${nameClass(stave)}>${stave.name}</span>
          </div>`,
      )}
    </div>`;
  }
}

function nameClass({ layer, leftOut, live }: Stave): string {
  if (layer === null) return live ? 'name live' : 'name next';
  return leftOut ? 'name out' : 'name';
}

declare global {
  interface HTMLElementTagNameMap {
    'mh-system': SystemElement;
  }
}
